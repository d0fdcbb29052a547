"""The forms about devices in service."""

from __future__ import annotations

from wtforms import SelectField
from wtforms.validators import InputRequired

from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm


class PutForm(ActForm):
    """Which revision, where, from when."""

    base_id = SelectField("Base", validators=[InputRequired("Choose a base.")])
    profile = SelectField("Device revision", validators=[InputRequired("Choose a device revision.")])
    from_day = DayField("First day in the packs", validators=[InputRequired("Give the day, such as 2026-03-14.")])


class TakeOutForm(ActForm):
    """Until when."""

    until_day = DayField("Last day in the packs", validators=[InputRequired("Give the day, such as 2026-03-14.")])
