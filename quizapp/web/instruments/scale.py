"""A printed scale: marks from low to high, some of them numbered, and where a needle stands among them in words."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizapp.web.instruments.written import ordinal, spoken

ON_A_MARK = 0.12
ABOUT_HALF = 0.1
CLOSE = 1e-6
MOST_MARKS = 400


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One mark of a scale."""

    value: float
    is_numbered: bool


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Low and high end, the worth of one small mark, and the step of the numerals, all in the scale's own unit."""

    low: float
    high: float
    minor: float
    major: float

    def __post_init__(self) -> None:
        """Refuse a scale that cannot be drawn; raises ValueError."""
        if not (self.low < self.high and 0 < self.minor <= self.major):
            raise ValueError(f"no scale runs from {self.low:g} to {self.high:g} by {self.minor:g} and {self.major:g}")
        if (self.high - self.low) / self.minor > MOST_MARKS:
            raise ValueError(f"a scale of more than {MOST_MARKS} marks cannot be read")

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Every mark from the low to the high end."""
        count = math.floor((self.high - self.low) / self.minor + CLOSE)
        values = (self.low + number * self.minor for number in range(count + 1))
        return tuple(Mark(value=_clean(value), is_numbered=self._is_numbered(value)) for value in values)

    @property
    def numerals(self) -> tuple[float, ...]:
        """The numbered values, lowest first."""
        return tuple(mark.value for mark in self.marks if mark.is_numbered)

    def share(self, value: float) -> float:
        """Return where a value lies between the ends, 0 to 1; raises ValueError when it is off the scale."""
        if not self.low - CLOSE <= value <= self.high + CLOSE:
            raise ValueError(f"{value:g} is off the scale of {self.low:g} to {self.high:g}")
        return (value - self.low) / (self.high - self.low)

    def _is_numbered(self, value: float) -> bool:
        return abs(value / self.major - round(value / self.major)) < CLOSE


def needle_words(value: float, scale: Scale) -> str:
    """Say where a needle stands by marks and numerals, such as "third small mark above the numeral 10".

    A value off the scale raises ValueError. The value itself is said only when the needle stands on a numeral.
    """
    scale.share(value)
    below = [one for one in scale.numerals if one <= value + CLOSE]
    if not below:
        return f"below the lowest numeral, {spoken(scale.numerals[0])}"
    base = below[-1]
    whole, rest = divmod((value - base) / scale.minor + CLOSE, 1)
    marks = int(whole)
    if rest < ON_A_MARK:
        return _mark_words(marks, base, scale)
    if rest > 1 - ON_A_MARK:
        return _mark_words(marks + 1, base, scale)
    return _between_words(marks, rest, base, scale)


def _mark_words(marks: int, base: float, scale: Scale) -> str:
    value = base + marks * scale.minor
    if scale._is_numbered(value):
        return f"the numeral {spoken(_clean(value))}"
    return f"the {ordinal(marks)} small mark above the numeral {spoken(base)}"


def _between_words(marks: int, rest: float, base: float, scale: Scale) -> str:
    where = "halfway" if abs(rest - 0.5) <= ABOUT_HALF else "nearer the lower" if rest < 0.5 else "nearer the upper"
    first = f"the numeral {spoken(base)}" if marks == 0 else f"the {ordinal(marks)}"
    upper = base + (marks + 1) * scale.minor
    if scale._is_numbered(upper):
        second = f"the numeral {spoken(_clean(upper))}"
        first = first if marks == 0 else f"{first} small mark above the numeral {spoken(base)}"
    elif marks == 0:
        second = "the first small mark above it"
    else:
        second = f"{ordinal(marks + 1)} small marks above the numeral {spoken(base)}"
    return f"{where} between {first} and {second}" if where == "halfway" else f"between {first} and {second}, {where}"


def _clean(value: float) -> float:
    return round(value, 6) + 0.0
