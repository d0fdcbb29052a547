"""The form of a leave."""

from __future__ import annotations

from wtforms import SelectField, StringField
from wtforms.validators import InputRequired

from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most


class LeaveForm(ActForm):
    """Who is away from when to when."""

    person = SelectField("Who", validators=[InputRequired("Choose a person.")])
    from_day = DayField("First day away", validators=[InputRequired("Give the first day, such as 2026-03-14.")])
    until_day = DayField("Last day away")
    reason = StringField("A sentence the person reads", validators=[at_most(500)])
