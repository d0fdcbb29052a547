"""A round gauge: marks and numerals over 270 degrees, needles, a relief mark. No zones and no second colour."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from quizapp.web.instruments.scale import Scale, needle_words
from quizapp.web.instruments.written import coordinate, numeral, spoken

CENTRE = 160
START_DEGREES = -135.0
SWEEP_DEGREES = 270.0
OUTER = 143
SMALL_MARK = 13
NUMBERED_MARK = 24
NUMERAL_RADIUS = 96
NUMERAL_DROP = 8.4
MOTION_RADIUS = 62
FLUTTER_DEGREES = 5.0


@dataclass(frozen=True, kw_only=True)
class Numeral:
    """A printed number and where its middle stands."""

    text: str
    x: str
    y: str


@dataclass(frozen=True, kw_only=True)
class Needle:
    """One needle: degrees clockwise from straight up, as written into the drawing; a ghost is drawn hollow."""

    degrees: str
    is_ghost: bool = False


@dataclass(frozen=True, kw_only=True)
class Dial:
    """Everything a gauge is drawn from, in a square of 320."""

    arc: str
    small_marks: str
    numbered_marks: str
    numerals: tuple[Numeral, ...]
    needles: tuple[Needle, ...]
    unit: str
    relief: str = ""
    motion: str = ""
    description: str = ""


def degrees(value: float, scale: Scale) -> float:
    """Return the needle's angle in degrees clockwise from straight up: -135 at the low end, 135 at the high end."""
    return START_DEGREES + SWEEP_DEGREES * scale.share(value)


def dial(
    scale: Scale,
    needle: float,
    unit: str,
    second: float | None = None,
    relief: float | None = None,
    motion: str = "still",
) -> Dial:
    """Return the drawing of a gauge; values in the scale's unit. Raises ValueError when a needle is off the scale."""
    return Dial(
        arc=f"M{_at(START_DEGREES, OUTER)}A{OUTER} {OUTER} 0 1 1 {_at(START_DEGREES + SWEEP_DEGREES, OUTER)}",
        small_marks=_marks(scale, SMALL_MARK, numbered=False),
        numbered_marks=_marks(scale, NUMBERED_MARK, numbered=True),
        numerals=tuple(_numeral(value, scale) for value in scale.numerals),
        needles=_needles(degrees(needle, scale), None if second is None else degrees(second, scale), motion),
        unit=unit,
        relief="" if relief is None else _relief_mark(degrees(relief, scale)),
        motion="" if second is None else _motion(degrees(needle, scale), degrees(second, scale), motion),
        description=describe(scale, needle, second, relief),
    )


def describe(scale: Scale, needle: float, second: float | None = None, relief: float | None = None) -> str:
    """Say what is drawn, by marks and numerals and never by the value."""
    between = round(scale.major / scale.minor) - 1
    numerals = f"numbered every {spoken(scale.major)} from {spoken(scale.numerals[0])} to {spoken(scale.numerals[-1])}"
    marks = f", with {between} small mark{'s' if between != 1 else ''} between two numerals" if between else ""
    words = [f"Round gauge, {numerals}{marks}."]
    if second is None:
        words.append(f"The needle points to {needle_words(needle, scale)}.")
    else:
        low, high = sorted((needle, second))
        words.append(f"The needle swings from {needle_words(low, scale)} to {needle_words(high, scale)}.")
    if relief is not None:
        words.append(f"The relief mark is at {needle_words(relief, scale)}.")
    return " ".join(words)


def _at(angle: float, radius: float) -> str:
    return f"{coordinate(CENTRE + radius * sin(radians(angle)))} {coordinate(CENTRE - radius * cos(radians(angle)))}"


def _marks(scale: Scale, length: int, *, numbered: bool) -> str:
    angles = (degrees(mark.value, scale) for mark in scale.marks if mark.is_numbered is numbered)
    return "".join(f"M{_at(angle, OUTER)}L{_at(angle, OUTER - length)}" for angle in angles)


def _numeral(value: float, scale: Scale) -> Numeral:
    angle = radians(degrees(value, scale))
    x, y = CENTRE + NUMERAL_RADIUS * sin(angle), CENTRE - NUMERAL_RADIUS * cos(angle)
    return Numeral(text=numeral(value), x=coordinate(x), y=coordinate(y + NUMERAL_DROP))


def _needles(angle: float, second: float | None, motion: str) -> tuple[Needle, ...]:
    ghosts: tuple[float, ...] = () if second is None else (second,)
    if motion == "flutter":
        ghosts = (angle - FLUTTER_DEGREES, angle + FLUTTER_DEGREES)
    hollow = tuple(Needle(degrees=coordinate(ghost), is_ghost=True) for ghost in ghosts)
    return (*hollow, Needle(degrees=coordinate(angle)))


def _motion(angle: float, second: float, motion: str) -> str:
    """An arc between the two needles with a head at each end, or at the far end only when the needle climbs."""
    low, high = sorted((angle, second))
    if motion in {"still", "parked"} or high - low < 12:
        return ""
    large = 1 if high - low > 180 else 0
    arc = f"M{_at(low + 4, MOTION_RADIUS)}A{MOTION_RADIUS} {MOTION_RADIUS} 0 {large} 1 {_at(high - 4, MOTION_RADIUS)}"
    return arc + _head(high - 4, -1) + ("" if motion == "slow_climb" else _head(low + 4, 1))


def _head(angle: float, way: int) -> str:
    back = angle + way * 7
    return f"M{_at(back, MOTION_RADIUS - 5)}L{_at(angle, MOTION_RADIUS)}L{_at(back, MOTION_RADIUS + 5)}"


def _relief_mark(angle: float) -> str:
    return f"M{_at(angle, OUTER - 1)}L{_at(angle - 3.2, OUTER + 10)}L{_at(angle + 3.2, OUTER + 10)}Z"
