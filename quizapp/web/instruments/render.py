"""Draws a figure: from a question's dictionary to markup that is safe to put on a page."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from quizapp.web.instruments.drawings import draw
from quizapp.web.instruments.figure import Figure

TEMPLATES = Path(__file__).resolve().parents[1] / "templates"
MOTION_WORDS = {
    "swing": "The needle swings between its two ends.",
    "flutter": "The needle flutters about where it stands.",
    "slow_climb": "The needle climbs slowly and falls again.",
    "short_fast": "The needle makes short, fast swings.",
}


def render_figure(figure: Mapping[str, Any]) -> Markup:
    """Return the figure's markup: "instrument", its parameters, "alt", and where wanted "title", "caption" and "id".

    The parameters may also stand under "numbers" and "words", as in a frozen question. Two figures on one page that are
    drawn from equal dictionaries need different ids. Raises FigureError, a ValueError, when it cannot be drawn.
    """
    read = Figure.read(figure)
    instrument, drawing = draw(read)
    macro = getattr(_macros(), instrument.macro)
    caption = " ".join(filter(None, (read.word("caption"), MOTION_WORDS.get(read.word("motion"), ""))))
    alt = read.alt or getattr(drawing, "description", "") or instrument.title
    return Markup(macro(drawing, read.id or _id_of(figure), read.title or instrument.title, alt, caption))  # noqa: S704


def _id_of(figure: Mapping[str, Any]) -> str:
    text = repr(sorted((name, str(value)) for name, value in figure.items()))
    return "figure-" + hashlib.sha256(text.encode()).hexdigest()[:10]


@cache
def _macros() -> Any:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("components/instruments.html").module
