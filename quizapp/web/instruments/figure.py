"""What a figure brings along: numbers, series and words under their names, from a frozen question or by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from quizapp.web.instruments.plot import Point

SHORT_NAMES = {
    "peak": "peak_cmh2o",
    "baseline": "baseline_cmh2o",
    "needle": "needle_cmh2o",
    "second_needle": "second_needle_cmh2o",
    "relief_mark": "relief_mark_cmh2o",
    "etco2": "end_tidal_mmhg",
    "float": "float_l_min",
    "duration": "strip_s",
}
OWN_NAMES = {"instrument", "alt", "title", "id", "numbers", "words"}


class FigureError(ValueError):
    """A figure that cannot be drawn: what is missing or wrong, by name."""


@dataclass(frozen=True)
class Figure:
    """One figure: the instrument's name, its parameters, and the words of its text alternative."""

    instrument: str
    parameters: Mapping[str, Any]
    alt: str
    title: str
    id: str

    @classmethod
    def read(cls, given: Mapping[str, Any]) -> Figure:
        """Read a dictionary; numbers may stand at the top or under "numbers", words at the top or under "words"."""
        if not given.get("instrument"):
            raise FigureError("a figure names its instrument")
        flat = {name: value for name, value in given.items() if name not in OWN_NAMES}
        flat |= dict(given.get("numbers") or {}) | dict(given.get("words") or {})
        return cls(
            instrument=str(given["instrument"]).replace("_", "-"),
            parameters={SHORT_NAMES.get(name, name): value for name, value in flat.items()},
            alt=str(given.get("alt") or ""),
            title=str(given.get("title") or ""),
            id=str(given.get("id") or ""),
        )

    def number(self, *names: str) -> float:
        """Return the first of these numbers that is there; raises FigureError when none is."""
        found = self.maybe(*names)
        if found is None:
            raise FigureError(f"{self.instrument} needs the number {names[0]}")
        return found

    def maybe(self, *names: str) -> float | None:
        """Return the first of these numbers that is there, or None."""
        for name in names:
            value = self.parameters.get(name)
            if value is not None:
                return _number(name, value[0] if _is_series(value) else value)
        return None

    def given(self, name: str, otherwise: float) -> float:
        """Return a number, or the other value when it is not there."""
        found = self.maybe(name)
        return otherwise if found is None else found

    def series(self, name: str) -> list[float]:
        """Return a series, empty when it is not there."""
        value = self.parameters.get(name)
        if value is None:
            return []
        return [_number(name, one) for one in (value if _is_series(value) else [value])]

    def word(self, name: str, otherwise: str = "") -> str:
        """Return a word, or the other one when it is not there."""
        return str(self.parameters.get(name) or otherwise)

    def points(self, name: str = "points") -> list[Point]:
        """Return sampled pairs (t, value), empty when there are none."""
        pairs = self.parameters.get(name) or []
        return [(_number(name, at), _number(name, value)) for at, value in pairs]


def _is_series(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str)


def _number(name: str, value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        raise FigureError(f"{name} is {value!r}, not a number") from None
