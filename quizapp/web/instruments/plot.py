"""Squared paper: grid lines and labels in percent, curves in a field of 1000 by 1000 that is stretched to fit.

Lettering keeps its size at any width, because only the curves are stretched, with lines of constant thickness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.web.instruments.written import coordinate, numeral

FIELD = 1000
Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class GridLine:
    """One line of the paper at a percentage; `is_main` is the heavier kind."""

    at: str
    is_main: bool


@dataclass(frozen=True, kw_only=True)
class AxisLabel:
    """A label at a percentage; `end` is start, middle or end, for the side it is anchored at."""

    at: str
    text: str
    end: str = "middle"


@dataclass(frozen=True, kw_only=True)
class Plot:
    """One channel on squared paper."""

    columns: tuple[GridLine, ...]
    rows: tuple[GridLine, ...]
    x_labels: tuple[AxisLabel, ...]
    y_labels: tuple[AxisLabel, ...]
    curve: str
    name: str
    unit: str
    description: str = ""
    marker_x: str = ""
    marker_words: str = ""


@dataclass(frozen=True, kw_only=True)
class Range:
    """An axis: ends, the worth of one square, the step of the heavy lines and of the labels."""

    low: float
    high: float
    fine: float
    main: float
    label: float

    def percent(self, value: float) -> float:
        """Return where a value lies, in percent from the low end."""
        return (value - self.low) / (self.high - self.low) * 100

    def steps(self, step: float) -> tuple[float, ...]:
        """Return the values from low to high that are whole steps away from zero."""
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return tuple(number * step + 0.0 for number in range(first, last + 1))


def curve(points: Sequence[Point], x: Range, y: Range) -> str:
    """Return the path of a curve in the field of 1000 by 1000; y runs upwards."""
    places = (f"{_place(x.percent(at))} {_place(100 - y.percent(value))}" for at, value in points)
    return "M" + "L".join(places)


def lines(axis: Range, *, upwards: bool) -> tuple[GridLine, ...]:
    """Return the squares' lines of an axis; `upwards` counts from the bottom."""
    made = []
    for value in axis.steps(axis.fine):
        percent = axis.percent(value)
        is_main = abs(value / axis.main - round(value / axis.main)) < 1e-6
        made.append(GridLine(at=f"{coordinate(100 - percent if upwards else percent)}%", is_main=is_main))
    return tuple(made)


def time_labels(axis: Range, unit: str) -> tuple[AxisLabel, ...]:
    """Return the labels along the foot; the last one carries the unit."""
    values = axis.steps(axis.label)
    made = []
    for value in values:
        is_last = value == values[-1]
        text = f"{numeral(value)} {unit}" if is_last else numeral(value)
        at_edge = is_last and axis.percent(value) > 97
        made.append(AxisLabel(at=f"{coordinate(axis.percent(value))}%", text=text, end="end" if at_edge else "middle"))
    return tuple(made)


def value_labels(axis: Range) -> tuple[AxisLabel, ...]:
    """Return the labels up the side."""
    return tuple(
        AxisLabel(at=f"{coordinate(100 - axis.percent(value))}%", text=numeral(value))
        for value in axis.steps(axis.label)
    )


def squared(
    points: Sequence[Point], x: Range, y: Range, *, name: str, unit: str, x_unit: str, description: str = ""
) -> Plot:
    """Return one channel on squared paper. Raises ValueError when there are fewer than two points."""
    if len(points) < 2:
        raise ValueError(f"{name}: a curve needs at least two points")
    return Plot(
        columns=lines(x, upwards=False),
        rows=lines(y, upwards=True),
        x_labels=time_labels(x, x_unit),
        y_labels=value_labels(y),
        curve=curve(points, x, y),
        name=name,
        unit=unit,
        description=description,
    )


def _place(percent: float) -> str:
    return coordinate(percent / 100 * FIELD)
