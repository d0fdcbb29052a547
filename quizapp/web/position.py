"""The place of a question in an address: a whole number from 1, read strictly."""

from __future__ import annotations

import re

from quizapp.errors import NotFound

POSITION = re.compile(r"[1-9][0-9]{0,2}")


def position_from(text: str) -> int:
    """Return the position of a question from the address; raises NotFound for anything but 1 to 999."""
    if not POSITION.fullmatch(text):
        raise NotFound("This sitting has no such question.")
    return int(text)
