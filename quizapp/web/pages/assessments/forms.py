"""The forms of composing and assigning."""

from __future__ import annotations

from collections.abc import Iterable

from flask import request
from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.errors import BadInput
from quizapp.services.compose_assessment import Part
from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most
from quizapp.web.whole_number_field import WholeNumberField

MOST_ON_ONE = 60


class ComposeForm(ActForm):
    """Title, device, cut and allowance; the parts stand beside it, one pair of fields per competency."""

    title = StringField("Title", validators=[InputRequired("Give it a title."), at_most(200)])
    profile = SelectField("Device revision", validators=[InputRequired("Choose a device revision.")])
    cut = WholeNumberField(
        "Fewest right to pass", lowest=1, highest=500, validators=[InputRequired("Write how many at least.")]
    )
    cut_reason = TextAreaField("Why the cut lies there", validators=[InputRequired("Give the reason."), at_most(2000)])
    time_allowance_min = WholeNumberField("Time allowance in minutes", lowest=1, highest=480)


class AssignForm(ActForm):
    """To whom, and until when."""

    to = RadioField(
        "To whom", choices=[("people", "People I choose"), ("bases", "Whole bases"), ("everybody", "Everybody")],
        validators=[InputRequired("Choose to whom.")], default="bases",
    )  # fmt: skip
    bases = SelectMultipleField("Bases")
    people = SelectMultipleField("People")
    due_on = DayField("Due on")


def sent_counts(codes: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Return what was typed for each competency: the number of questions and its own minimum."""
    return {code: (request.form.get(f"count_{code}", ""), request.form.get(f"minimum_{code}", "")) for code in codes}


def parts_from(sent: dict[str, tuple[str, str]]) -> list[Part]:
    """Return the parts asked for; raises BadInput for anything but whole numbers."""
    parts = []
    for code, (count, minimum) in sent.items():
        questions = _whole(count, code)
        if questions:
            parts.append(Part(competency=code, question_count=questions, minimum_right=_whole(minimum, code) or None))
    return parts


def _whole(text: str, code: str) -> int:
    clean = text.strip()
    if not clean:
        return 0
    if not (clean.isascii() and clean.isdigit()) or len(clean) > 2 or int(clean) > MOST_ON_ONE:
        raise BadInput(f"{code}: write a whole number from 0 to {MOST_ON_ONE}.", field="parts")
    return int(clean)
