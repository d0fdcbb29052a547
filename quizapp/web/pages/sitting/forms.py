"""The forms of a sitting."""

from __future__ import annotations

import re

from flask import request
from wtforms import HiddenField

from quizapp.errors import NotFound
from quizapp.services.record_answer import Response
from quizapp.web.forms import ActForm

POSITION = re.compile(r"[1-9][0-9]{0,2}")


class AnswerForm(ActForm):
    """One answer; `revision` is the one the page showed."""

    revision = HiddenField(default="0")


class PlainForm(ActForm):
    """A form that is only a button."""


def position_from(text: str) -> int:
    """Return the position of a question from the address; raises NotFound for anything but 1 to 999."""
    if not POSITION.fullmatch(text):
        raise NotFound("This sitting has no such question.")
    return int(text)


def revision_from(text: str | None) -> int:
    """Return the revision a page showed; anything unreadable counts as none."""
    return int(text) if text and POSITION.fullmatch(text) else 0


def sent_response(blank_count: int) -> Response:
    """Return what the person sent for a question with so many blanks."""
    return Response(
        texts=[request.form.get(f"answer_{index}", "") for index in range(blank_count)],
        units=[request.form.get(f"answer_{index}_unit", "") for index in range(blank_count)],
        option=request.form.get("option", ""),
        order=[step for step in request.form.get("order", "").split(",") if step],
    )
