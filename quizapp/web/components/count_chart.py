"""The picture of how many people are current: half a year back, ninety days on, and the chances of the last day.

Two drawings: a line of counts with what is expected, and one bar for each count on the last day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from quizapp.assessment.readiness_forecast import DAYS_AHEAD, CountAhead, CountForecast
from quizapp.services.base_outlook import CountThen
from quizapp.web.instruments.plot import AxisLabel, GridLine, Range, curve
from quizapp.web.instruments.written import coordinate

DAYS_BACK = 180
LEAST_DRAWN = 0.005
MOST_ROWS = 6


@dataclass(frozen=True, kw_only=True)
class CountChart:
    """Paths in a field of 1000 by 1000, everything else in percent; `words` say what is drawn."""

    columns: tuple[GridLine, ...]
    rows: tuple[GridLine, ...]
    x_labels: tuple[AxisLabel, ...]
    y_labels: tuple[AxisLabel, ...]
    today_x: str
    past: str
    band: str
    expected: str
    without: str
    words: str


@dataclass(frozen=True, kw_only=True)
class CountBar:
    """One count on the last day: how likely with the places held; `is_sure` marks the count if nothing is done."""

    count: int
    fraction: float
    height: str
    x: str
    width: str
    middle: str
    label: str
    is_without: bool


@dataclass(frozen=True, kw_only=True)
class CountBars:
    """The bars, side by side in percent."""

    bars: tuple[CountBar, ...]
    words: str


def count_chart(trend: Sequence[CountThen], forecast: CountForecast, today: date) -> CountChart:
    """Return the drawing of the counts."""
    most = max([forecast.people, 1, *(one.people for one in trend)])
    days = Range(low=-DAYS_BACK, high=DAYS_AHEAD, fine=30, main=90, label=90)
    counts = Range(low=0, high=most, fine=1, main=1, label=1)
    past = [((one.day - today).days, float(one.in_date)) for one in trend] + [(0, float(forecast.today_count))]
    ahead = forecast.points
    return CountChart(
        columns=tuple(
            GridLine(at=_percent(days.percent(day)), is_main=day in {-DAYS_BACK, 0, DAYS_AHEAD})
            for day in range(-DAYS_BACK, DAYS_AHEAD + 1, 30)
        ),
        rows=tuple(GridLine(at=_upwards(count, counts), is_main=False) for count in _round_counts(most)),
        x_labels=_day_labels(today, days),
        y_labels=tuple(AxisLabel(at=_upwards(count, counts), text=str(count)) for count in _round_counts(most)),
        today_x=_percent(days.percent(0)),
        past=curve(past, days, counts),
        band=_band(ahead, today, days, counts) if forecast.place_count else "",
        expected=curve([((one.day - today).days, one.expected) for one in ahead], days, counts)
        if forecast.place_count
        else "",
        without=curve(_steps(ahead, today), days, counts),
        words=_words(trend, forecast),
    )


def _steps(ahead: Sequence[CountAhead], today: date) -> list[tuple[float, float]]:
    """Give the points of a line of steps, since people are counted whole."""
    points: list[tuple[float, float]] = []
    for one in ahead:
        day = (one.day - today).days
        if points:
            points.append((day, points[-1][1]))
        points.append((day, float(one.without_places)))
    return points


def _band(ahead: Sequence[CountAhead], today: date, days: Range, counts: Range) -> str:
    there = [((one.day - today).days, float(one.high)) for one in ahead]
    back = [((one.day - today).days, float(one.low)) for one in reversed(ahead)]
    return curve([*there, *back], days, counts) + "Z"


def _round_counts(most: int) -> list[int]:
    """Give at most seven whole numbers from 0 to the top, evenly apart."""
    step = next(step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000) if most / step <= MOST_ROWS)
    return list(range(0, most + 1, step))


def _words(trend: Sequence[CountThen], forecast: CountForecast) -> str:
    last = forecast.points[-1]
    earlier = f"{trend[0].in_date} half a year ago, " if trend else ""
    held = (
        f" With the places held {last.low} to {last.high} are, four times in five."
        if forecast.place_count
        else " No place is held yet."
    )
    return (
        f"A line of the number current: {earlier}{forecast.today_count} of {forecast.people} today; "
        f"{last.without_places} in {DAYS_AHEAD} days if nothing is done.{held}"
    )


def _day_labels(today: date, days: Range) -> tuple[AxisLabel, ...]:
    ends = ((-DAYS_BACK, "start"), (0, "middle"), (DAYS_AHEAD, "end"))
    return tuple(
        AxisLabel(at=_percent(days.percent(away)), text="today" if away == 0 else _short(today, away), end=end)
        for away, end in ends
    )


def _short(today: date, away: int) -> str:
    day = today + timedelta(days=away)
    return f"{day.day} {day:%b}"


def count_bars(forecast: CountForecast) -> CountBars:
    """Return a bar for each count that is not as good as impossible on the last day."""
    chances = forecast.chances_with
    without = forecast.points[-1].without_places
    shown = [count for count, fraction in enumerate(chances) if fraction >= LEAST_DRAWN or count == without]
    first, last = min(shown), max(shown)
    width = 100 / (last - first + 1)
    top = max(chances)
    bars = tuple(
        CountBar(
            count=count,
            fraction=chances[count],
            height=_percent(chances[count] / top * 100),
            x=_percent((count - first) * width + width * 0.12),
            width=_percent(width * 0.76),
            middle=_percent((count - first + 0.5) * width),
            label=str(count),
            is_without=count == without,
        )
        for count in range(first, last + 1)
    )
    likeliest = max(range(len(chances)), key=lambda count: chances[count])
    words = f"A bar for each number current in {DAYS_AHEAD} days, with the places held; the tallest is {likeliest}."
    return CountBars(bars=bars, words=words)


def _upwards(count: float, counts: Range) -> str:
    return _percent(100 - counts.percent(count))


def _percent(value: float) -> str:
    return f"{coordinate(value)}%"
