"""The form of an adjustment; it asks for no reason."""

from __future__ import annotations

from wtforms import RadioField, StringField
from wtforms.validators import InputRequired

from quizapp.assessment.sitting_time import ExtraTime
from quizapp.services.sitting_adjustments import LONGEST_WORDS, AdjustmentWanted
from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most

NO_LIMIT = "no_limit"


class AdjustmentForm(ActForm):
    """How much more time, what else, and from when to when."""

    extra_time = RadioField(
        "Time for questions",
        choices=[
            (str(int(ExtraTime.NONE)), "As it is"),
            (str(int(ExtraTime.QUARTER)), "25 % more"),
            (str(int(ExtraTime.HALF)), "50 % more"),
            (str(int(ExtraTime.DOUBLE)), "100 % more"),
            (NO_LIMIT, "No limit"),
        ],
        validators=[InputRequired("Choose how much time.")],
    )
    room = StringField("What else is arranged", validators=[at_most(LONGEST_WORDS)])
    from_day = DayField("First day", validators=[InputRequired("Give the first day, such as 2026-03-14.")])
    until_day = DayField("Last day")

    def wanted(self) -> AdjustmentWanted:
        """Return what was entered in a form that was valid."""
        chosen = self.extra_time.data
        return AdjustmentWanted(
            extra_time=None if chosen == NO_LIMIT else ExtraTime(int(chosen)),
            room=self.room.data or "",
            from_day=self.from_day.required_day(),
            until_day=self.until_day.data,
        )
