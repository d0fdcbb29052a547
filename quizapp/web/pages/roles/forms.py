"""The forms about roles; each asks for the password."""

from __future__ import annotations

from wtforms import BooleanField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length

from quizapp.assessment.role_grants import LONGEST_REASON
from quizapp.assessment.roles import Role
from quizapp.web.day_field import DayField
from quizapp.web.signed_form import SignedForm


class ProposeForm(SignedForm):
    """Who is to hold what, where, from when to when, and why."""

    staff_number = StringField("Staff number", validators=[InputRequired("Write the staff number."), Length(max=64)])
    role = RadioField(
        "Role", choices=[(role.value, role.words) for role in Role], validators=[InputRequired("Choose a role.")]
    )
    base_id = SelectField("Where")
    from_day = DayField("First day", validators=[InputRequired("Give the first day, such as 2026-03-14.")])
    until_day = DayField("Last day")
    recognised = BooleanField("Recognised on outside evidence")
    reason = TextAreaField("Why", validators=[InputRequired("Say why."), Length(max=LONGEST_REASON)])


class SettleForm(SignedForm):
    """A second administrator's answer."""

    answer = RadioField(
        "Your answer",
        choices=[("confirm", "Confirm: the role is granted"), ("decline", "Decline: nothing is granted")],
        validators=[InputRequired("Choose an answer.")],
    )


class EndForm(SignedForm):
    """The password alone."""
