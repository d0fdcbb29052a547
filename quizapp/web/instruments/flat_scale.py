"""A piece of a gauge's scale laid straight: the needle above it, what a person wrote below it."""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.web.instruments.scale import Scale, needle_words
from quizapp.web.instruments.written import coordinate, numeral, spoken

NEAR_AN_END = 0.2
UNDER_THE_LINE, UNDER_A_SMALL_NUMBER, UNDER_A_NUMERAL = 66, 110, 127


@dataclass(frozen=True, kw_only=True)
class FlatMark:
    """One mark: where, in percent of the width, and its number."""

    x: str
    text: str
    is_numbered: bool


@dataclass(frozen=True, kw_only=True)
class FlatScale:
    """Everything the straight piece is drawn from; `written_x` is empty when nothing was written or it is elsewhere.

    The `..._end` say which end of the words stands at the place ("start", "middle", "end"), so that none are cut off;
    `written_top` is where the pen mark begins: below a number that is printed there.
    """

    marks: tuple[FlatMark, ...]
    needle_x: str
    needle_end: str
    written_x: str
    written_end: str
    written_top: int
    written: str
    description: str


def flat_scale(scale: Scale, needle: float, written: float | None = None) -> FlatScale:
    """Return the piece of scale between the numerals around the needle and the written value, at most four apart."""
    piece = _piece(scale, needle, written)
    is_on = written is not None and piece.low <= written <= piece.high

    def percent(value: float) -> str:
        return f"{coordinate(piece.share(value) * 100)}%"

    return FlatScale(
        marks=tuple(
            FlatMark(x=percent(mark.value), text=numeral(mark.value), is_numbered=mark.is_numbered)
            for mark in piece.marks
        ),
        needle_x=percent(needle),
        needle_end=_end(piece, needle),
        written_x=percent(written) if is_on and written is not None else "",
        written_end=_end(piece, written) if is_on and written is not None else "middle",
        written_top=_top(piece, written) if is_on and written is not None else UNDER_THE_LINE,
        written="" if written is None else numeral(written),
        description=_describe(piece, needle, written, is_on=is_on),
    )


def _end(piece: Scale, value: float) -> str:
    share = piece.share(value)
    return "start" if share < NEAR_AN_END else "end" if share > 1 - NEAR_AN_END else "middle"


def _top(piece: Scale, value: float) -> int:
    """Where nothing is printed under the line the pen mark touches it."""
    near = [mark for mark in piece.marks if abs(mark.value - value) < 0.6 * piece.minor]
    if any(mark.is_numbered for mark in near):
        return UNDER_A_NUMERAL
    return UNDER_A_SMALL_NUMBER if near else UNDER_THE_LINE


def _piece(scale: Scale, needle: float, written: float | None) -> Scale:
    scale.share(needle)
    numerals = scale.numerals
    near = [needle] if written is None or abs(written - needle) > 3 * scale.major else [needle, written]
    low = max((one for one in numerals if one <= min(near)), default=scale.low)
    high = min((one for one in numerals if one >= max(near)), default=scale.high)
    if low == high:
        later = [one for one in numerals if one > high]
        low, high = (low, later[0]) if later else (numerals[-2], high)
    return Scale(low=low, high=high, minor=scale.minor, major=scale.major)


def _describe(piece: Scale, needle: float, written: float | None, *, is_on: bool) -> str:
    words = f"A straight piece of the scale from {spoken(piece.low)} to {spoken(piece.high)}. "
    words += f"The needle stands at {needle_words(needle, piece)}, which is {spoken(needle)}."
    if written is not None:
        words += f" You wrote {spoken(written)}" + ("." if is_on else ", which is off this piece.")
    return words
