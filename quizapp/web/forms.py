"""The base of all forms: a key that makes a repeated sending harmless, and one way to do an act once."""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable
from typing import Any

from flask import request
from flask_wtf import FlaskForm
from wtforms import HiddenField
from wtforms.validators import Length

from quizapp.errors import BadInput
from quizapp.services.receipts import body_hash, once
from quizapp.web.edge import act

ACT_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")
NOT_PART_OF_THE_ACT = {"csrf_token", "act_key", "password"}


class ActForm(FlaskForm):  # type: ignore[misc]
    """A form that changes something; drawing it makes a new key, sending it twice has one effect."""

    act_key = HiddenField(default=lambda: secrets.token_urlsafe(18))


def at_most(characters: int) -> Length:
    """Return the check that a text is no longer than so many characters."""
    return Length(max=characters, message=f"Write at most {characters} characters. What you wrote is kept below.")


def sent_act_key() -> str:
    """Return the key the form carried; raises BadInput where it is missing or none of ours."""
    key = request.form.get("act_key", "")
    if not ACT_KEY.fullmatch(key):
        raise BadInput("This page is incomplete. Nothing was changed. Load it again and send it once more.")
    return key


def do_once(do: Callable[[], Any]) -> Any:
    """Do the act behind this form once and return its outcome (a JSON value), also when the form arrives again.

    An act without an outcome is kept as true.
    """
    key = sent_act_key()
    fields = {name: values for name, values in request.form.lists() if name not in NOT_PART_OF_THE_ACT}
    return once(act(), act_key=key, route=request.endpoint or "", fields_hash=body_hash(fields), do=lambda: _kept(do()))


def _kept(outcome: Any) -> Any:
    return True if outcome is None else outcome
