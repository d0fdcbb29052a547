"""A flowmeter: an upright tube with an even scale and a ball, read at the ball's middle."""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.web.instruments.scale import Scale, needle_words
from quizapp.web.instruments.written import coordinate, numeral, spoken

TOP, FOOT = 40.0, 380.0
SCALE_X = 96
SMALL_MARK, NUMBERED_MARK = 14, 26
BALL_RADIUS = 13


@dataclass(frozen=True, kw_only=True)
class TubeNumeral:
    """A numeral and the height of its middle."""

    text: str
    y: str


@dataclass(frozen=True, kw_only=True)
class Flowmeter:
    """Everything the tube is drawn from, in a field of 220 by 420."""

    small_marks: str
    numbered_marks: str
    numerals: tuple[TubeNumeral, ...]
    ball_y: str
    unit: str
    description: str


def height(value: float, scale: Scale) -> float:
    """Return the y of a value: the foot of the tube at the low end, its top at the high end."""
    return FOOT - (FOOT - TOP) * scale.share(value)


def flowmeter(scale: Scale, reading: float, unit: str) -> Flowmeter:
    """Return the drawing with the ball's middle at `reading`. Raises ValueError when it is off the scale."""
    where = needle_words(reading, scale)
    return Flowmeter(
        small_marks=_marks(scale, SMALL_MARK, numbered=False),
        numbered_marks=_marks(scale, NUMBERED_MARK, numbered=True),
        numerals=tuple(
            TubeNumeral(text=numeral(value), y=coordinate(height(value, scale) + 8)) for value in scale.numerals
        ),
        ball_y=coordinate(height(reading, scale)),
        unit=unit,
        description=f"Upright tube, numbered every {spoken(scale.major)} from {spoken(scale.numerals[0])} to "
        f"{spoken(scale.numerals[-1])}, with small marks between. The middle of the ball stands at {where}.",
    )


def _marks(scale: Scale, length: int, *, numbered: bool) -> str:
    heights = (height(mark.value, scale) for mark in scale.marks if mark.is_numbered is numbered)
    return "".join(f"M{SCALE_X} {coordinate(y)}h-{length}" for y in heights)
