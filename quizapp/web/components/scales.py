"""Axes that run through a list: time left, and the place in a row of questions. Values in, percentages out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

PLACE_START_PERCENT = 2.0
PLACE_END_PERCENT = 80.0
QUARTER_MONTHS = {1, 4, 7, 10}


@dataclass(frozen=True, kw_only=True)
class NamedDay:
    """A label on an axis."""

    name: str
    x_percent: float


@dataclass(frozen=True, kw_only=True)
class Axis:
    """Days from today to `span_days`, as percentages of the width."""

    span_days: int
    fine_percents: tuple[float, ...]
    main_percents: tuple[float, ...]
    named: tuple[NamedDay, ...] = ()

    def percent(self, days: int) -> float:
        """Return where a day stands, in percent of the width, never outside it."""
        return round(min(max(days, 0), self.span_days) / self.span_days * 100, 2)


@dataclass(frozen=True, kw_only=True)
class Tick:
    """One question on the line: behind us or not."""

    x_percent: float
    is_past: bool


@dataclass(frozen=True, kw_only=True)
class PlaceScale:
    """Where one stands in a row of questions."""

    position: int
    length: int
    ticks: tuple[Tick, ...]
    now_percent: float
    end_percent: float = PLACE_END_PERCENT


def place_scale(position: int, length: int) -> PlaceScale:
    """Return the line for question `position` (1 and up) of `length` (1 and up); beyond the end it stays at the end."""
    room = PLACE_END_PERCENT - PLACE_START_PERCENT

    def at(number: int) -> float:
        share = (min(number, length) - 1) / (length - 1) if length > 1 else 0.0
        return round(PLACE_START_PERCENT + share * room, 2)

    ticks = tuple(Tick(x_percent=at(number), is_past=number < position) for number in range(1, length + 1))
    return PlaceScale(position=position, length=length, ticks=ticks, now_percent=at(max(position, 1)))


def tenure_axis(today: date, span_days: int = 365) -> Axis:
    """Return the year ahead: a fine line at each first of a month, a main one at each quarter, the quarters named."""
    firsts = [(first, (first - today).days) for first in _firsts_of_months(today, span_days)]
    quarters = [(first, days) for first, days in firsts if first.month in QUARTER_MONTHS]
    return Axis(
        span_days=span_days,
        fine_percents=tuple(_percent(days, span_days) for first, days in firsts if first.month not in QUARTER_MONTHS),
        main_percents=(0.0, *(_percent(days, span_days) for _, days in quarters), 100.0),
        named=tuple(
            NamedDay(name=f"{first:%b}", x_percent=_percent(days, span_days))
            for first, days in quarters
            if span_days * 0.15 < days < span_days * 0.985
        ),
    )


def countdown_axis(span_days: int = 90) -> Axis:
    """Return the next `span_days`: a fine line every ten days, a main one every thirty."""
    days = range(0, span_days + 1, 10)
    return Axis(
        span_days=span_days,
        fine_percents=tuple(_percent(day, span_days) for day in days if day % 30),
        main_percents=tuple(_percent(day, span_days) for day in days if not day % 30),
    )


def _percent(days: int, span_days: int) -> float:
    return round(days / span_days * 100, 2)


def _firsts_of_months(today: date, span_days: int) -> list[date]:
    firsts: list[date] = []
    year, month = today.year, today.month
    while True:
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        first = date(year, month, 1)
        if (first - today).days > span_days:
            return firsts
        firsts.append(first)
