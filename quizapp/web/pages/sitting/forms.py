"""The forms of a sitting."""

from __future__ import annotations

from flask import request
from wtforms import HiddenField

from quizapp.assessment.questions import Question
from quizapp.services.record_answer import Response
from quizapp.web.forms import ActForm
from quizapp.web.placing import changed_order, read_order
from quizapp.web.position import POSITION


class AnswerForm(ActForm):
    """One answer; `revision` is the one the page showed."""

    revision = HiddenField(default="0")


class PlainForm(ActForm):
    """A form that is only a button."""


def revision_from(text: str | None) -> int:
    """Return the revision a page showed; anything unreadable counts as none."""
    return int(text) if text and POSITION.fullmatch(text) else 0


def sent_response(question: Question) -> Response:
    """Return what the person sent, with the steps of an order as they are after the button that was pressed."""
    blanks, steps = range(len(question.blanks)), question.steps
    order = changed_order(read_order(request.form.get("order", ""), len(steps)), request.form, len(steps))
    return Response(
        texts=[request.form.get(f"answer_{index}", "") for index in blanks],
        units=[request.form.get(f"answer_{index}_unit", "") for index in blanks],
        option=request.form.get("option", ""),
        order=[steps[int(place) - 1].name for place in order],
    )


def is_still_ordering(question: Question) -> bool:
    """Whether a button of the order was pressed and not the one that saves (a browser without scripts)."""
    return bool(question.steps) and "save" not in request.form
