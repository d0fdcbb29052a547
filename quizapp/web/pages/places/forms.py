"""The forms about session days and plans."""

from __future__ import annotations

from wtforms import BooleanField, HiddenField, RadioField, SelectField, SelectMultipleField, StringField
from wtforms.validators import InputRequired

from quizapp.assessment.attendance import Attendance
from quizapp.services.session_days import MOST_PLACES, SessionDayWanted
from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most
from quizapp.web.whole_number_field import WholeNumberField


class DayForm(ActForm):
    """A session day: when, where, for what, who watches, and whose people reach it."""

    base_id = SelectField("Base", validators=[InputRequired("Choose a base.")])
    held_on = DayField("Day", validators=[InputRequired("Give the day, such as 2026-03-14.")])
    starts_at = StringField("From", default="09:00", validators=[InputRequired("Give the time, such as 09:00.")])
    ends_at = StringField("To", default="13:00", validators=[InputRequired("Give the time, such as 13:00.")])
    about = StringField("What it is for", validators=[InputRequired("Say what the day is for."), at_most(200)])
    capacity = WholeNumberField(
        "Places", lowest=1, highest=MOST_PLACES, validators=[InputRequired("Give the number of places.")]
    )
    assessor_ids = SelectMultipleField("Who watches")
    reach_ids = SelectMultipleField("Whose people can reach it")
    takes_bookings = BooleanField("People may take a free place themselves")

    def wanted(self, base_id: str) -> SessionDayWanted:
        """Return what a valid form asks for."""
        return SessionDayWanted(
            base_id=base_id,
            held_on=self.held_on.required_day(),
            starts_at=(self.starts_at.data or "").strip(),
            ends_at=(self.ends_at.data or "").strip(),
            about=self.about.data or "",
            capacity=self.capacity.data or 0,
            takes_bookings=bool(self.takes_bookings.data),
            assessor_ids=tuple(self.assessor_ids.data or ()),
            reach_ids=tuple(self.reach_ids.data or ()),
        )


class CancelForm(ActForm):
    """Why a session day, or a place, is not to be."""

    reason = StringField("Why", validators=[InputRequired("Say why in a few words."), at_most(300)])


class MoveForm(ActForm):
    """To which day ("" takes the person out)."""

    to = RadioField("To which day", choices=(), validate_choice=False)


class PublishForm(ActForm):
    """Exactly which plan was shown."""

    digest = HiddenField()


class AttendanceForm(ActForm):
    """What became of a place."""

    attendance = SelectField(
        "What became of it",
        choices=[(one.value, one.words) for one in Attendance],
        validators=[InputRequired("Say whether they came.")],
    )
