"""The form of a real use: plain choices, and one short note."""

from __future__ import annotations

from wtforms import BooleanField, RadioField, SelectMultipleField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.real_use import UseDuration, UseFault, UseOutcome, UseSetting
from quizapp.services.log_use import LONGEST_NOTE, UseEntered
from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most


def _first_large(words: str) -> str:
    return words[0].upper() + words[1:]


class UseForm(ActForm):
    """What happened with the device."""

    used_on = DayField("Day", validators=[InputRequired("Give the day, such as 2026-03-14.")])
    device = RadioField("Device", validators=[InputRequired("Choose the device.")])
    setting = RadioField(
        "Where",
        choices=[(one.value, _first_large(one.words)) for one in UseSetting],
        validators=[InputRequired("Choose where it was.")],
    )
    duration = RadioField(
        "How long it ran",
        choices=[(one.value, _first_large(one.words)) for one in UseDuration],
        validators=[InputRequired("Choose about how long.")],
    )
    outcome = RadioField(
        "What happened",
        choices=[(one.value, one.words) for one in UseOutcome],
        validators=[InputRequired("Choose what happened.")],
    )
    faults = SelectMultipleField("Which trouble", choices=[(one.value, _first_large(one.words)) for one in UseFault])
    note = TextAreaField("Anything the next crew should know about the device", validators=[at_most(LONGEST_NOTE)])
    no_name_is_in_it = BooleanField("I have looked: the note names nobody")

    def entered(self) -> UseEntered:
        """Return what was entered in a form that was valid."""
        code, _, revision = (self.device.data or "").rpartition(" ")
        return UseEntered(
            used_on=self.used_on.required_day(),
            device=(code, int(revision) if revision.isascii() and revision.isdigit() else 0),
            setting=UseSetting(self.setting.data),
            duration=UseDuration(self.duration.data),
            outcome=UseOutcome(self.outcome.data),
            faults=[UseFault(one) for one in self.faults.data or ()],
            note=self.note.data or "",
            no_name_is_in_it=bool(self.no_name_is_in_it.data),
        )
