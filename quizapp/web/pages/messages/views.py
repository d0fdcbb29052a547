"""Putting a message away; the messages themselves stand on the first page."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.messages import put_away
from quizapp.web.edge import act
from quizapp.web.policy import policy

blueprint = Blueprint("messages", __name__, url_prefix="/messages")


@blueprint.post("/<message_id>/away")
@policy(right=Right.SEE_OWN_RECORD)
def away(message_id: str) -> Any:
    """Put one's own message away; it is kept on record."""
    put_away(act(), message_id)
    return redirect(url_for("currency.show"), code=303)
