"""The forms of changing a standing and of ending a change."""

from __future__ import annotations

from wtforms import PasswordField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.services.change_standing import StandingChange
from quizapp.web.day_field import DayField
from quizapp.web.forms import at_most
from quizapp.web.signed_form import SignedForm

KIND_WORDS = {
    StandingEventKind.SUSPENDED: "Suspend: off the device until an educator lifts it",
    StandingEventKind.WITHDRAWN: "Withdraw: taken back only by two educators",
    StandingEventKind.RESTRICTED: "Restrict: under conditions, with a last day",
    StandingEventKind.PAUSED: "Pause: on leave",
}


class ChangeStandingForm(SignedForm):
    """What changes, from when to when, why; with the password."""

    kind = RadioField(
        "Change",
        choices=[(kind.value, words) for kind, words in KIND_WORDS.items()],
        validators=[InputRequired("Choose what changes. Nothing is chosen beforehand.")],
    )
    competency = SelectField("Concerns")
    from_day = DayField("First day", validators=[InputRequired("Give the day, such as 2026-03-14.")])
    until_day = DayField("Last day")
    reason = TextAreaField("Reason, or the conditions of a restriction", validators=[at_most(2000)])

    def change(self) -> StandingChange:
        """Return what was entered."""
        return StandingChange(
            kind=StandingEventKind(self.kind.data),
            from_day=self.from_day.required_day(),
            until_day=self.until_day.data,
            reason=self.reason.data or "",
            competency=self.competency.data or None,
        )


class EndForm(SignedForm):
    """Why it is over, with the password; and the second educator where two are needed."""

    reason = TextAreaField("Reason, which the person will read", validators=[at_most(2000)])
    second_name = StringField("Second educator's sign-in name", validators=[at_most(255)])
    second_password = PasswordField("Second educator's password")
