"""Template filters: days and times in the service's zone, written the same way everywhere."""

from __future__ import annotations

from datetime import date, datetime

from flask import Flask

from quizapp.web.edge import edge


def day(value: date | None) -> str:
    """Write a civil day, for example 14 March 2027."""
    return "" if value is None else f"{value.day} {value:%B %Y}"


def written_day(text: str) -> str:
    """Write a day that a signed statement holds as year-month-day, for example 14 March 2027; "" stays ""."""
    return day(date.fromisoformat(text)) if text else ""


def short_day(value: date | None) -> str:
    """Write a civil day in little room, for example 14 Mar 2027."""
    return "" if value is None else f"{value.day} {value:%b %Y}"


def local_time(value: datetime) -> str:
    """Write the time of day with seconds in the service's zone."""
    return f"{value.astimezone(edge().service.zone):%H:%M:%S}"


def local_moment(value: datetime) -> str:
    """Write day and time in the service's zone, for example 14 March 2027, 02:14."""
    local = value.astimezone(edge().service.zone)
    return f"{local.day} {local:%B %Y}, {local:%H:%M}"


def local_day(value: datetime) -> str:
    """Write the civil day of a moment in the service's zone."""
    return day(value.astimezone(edge().service.zone).date())


def in_hundred(fraction: float) -> str:
    """Write a chance from 0 to 1 as so many in 100, never as certain when it is not."""
    percent = fraction * 100
    if 0 < percent < 0.1:
        return "under 0.1 in 100"
    if 99.9 < percent < 100:
        return "over 99.9 in 100"
    return f"{percent:.1f} in 100".replace(".0 in", " in")


def add_filters(app: Flask) -> None:
    """Make the filters known to all templates."""
    for filter_ in (day, written_day, short_day, local_time, local_moment, local_day, in_hundred):
        app.add_template_filter(filter_)
