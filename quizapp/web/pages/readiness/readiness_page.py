"""What the readiness page shows, laid out for its template in the order in which a lead reads it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from flask import url_for

from quizapp.assessment.readiness import WINDOWS_DAYS, LapseAhead, NotInDate
from quizapp.assessment.readiness_forecast import PLACE_SUCCEEDS_FRACTION, CountAhead, CountForecast
from quizapp.assessment.shift_cover import CoverState
from quizapp.assessment.standing import NextStep, NextWhat, PersonStanding
from quizapp.content.library import Library
from quizapp.services.base_outlook import SHIFT_DAYS, BaseOutlook
from quizapp.services.shift_covers import ShiftSeen
from quizapp.web.components import Axis, countdown_axis
from quizapp.web.components.count_chart import CountBars, CountChart, count_bars, count_chart
from quizapp.web.filters import in_hundred, short_day

FORECAST_ROWS = (0, 30, 60, 90)
SHOWN_CHANCE = 0.001


@dataclass(frozen=True, kw_only=True)
class ShownReadiness:
    """The finding, then each part in the order in which it is shown."""

    finding: str
    lede: str
    gaps: list[dict[str, Any]]
    shifts_note: str
    groups: list[tuple[str, list[dict[str, Any]]]]
    axis: Axis
    not_in_date: list[dict[str, Any]]
    heads: list[tuple[str, int]]
    competencies: list[dict[str, Any]]
    chart: CountChart
    bars: CountBars
    counts: list[dict[str, Any]]
    chances: list[tuple[int, str, bool]]
    forecast_words: str


def shown_readiness(outlook: BaseOutlook, library: Library, now: datetime, zone: ZoneInfo) -> ShownReadiness:
    """Lay out a base: shifts without cover, who lapses, who is not current, the counts, the trend and the forecast."""
    found = outlook.here.readiness
    finding, _, rest = found.headline.partition(". ")
    head = f"{finding.rstrip('.')}."
    gaps = [_gap(one, now, zone) for one in outlook.open_shifts]
    return ShownReadiness(
        finding=_shifts_finding(outlook) or head,
        lede=f"{head} {rest}" if _shifts_finding(outlook) else rest,
        gaps=gaps,
        shifts_note=_shifts_note(outlook),
        groups=_groups(found.ahead, outlook.places),
        axis=countdown_axis(),
        not_in_date=[_not_in_date(one, outlook.places) for one in found.not_in_date],
        heads=[(standing.value, found.counts[standing]) for standing in _ORDER if found.counts[standing]],
        competencies=[
            {
                "code": one.competency,
                "title": library.competencies[one.competency].title if one.competency in library.competencies else "",
                "device": str(one.profile),
                "words": one.words,
                "ending": one.ending_in_90_days,
            }
            for one in found.competencies
        ],
        chart=count_chart(outlook.trend, outlook.forecast, found.day),
        bars=count_bars(outlook.forecast),
        counts=_counts(outlook, found.day),
        chances=[
            (count, in_hundred(fraction), count == outlook.forecast.points[-1].without_places)
            for count, fraction in enumerate(outlook.forecast.chances_with)
            if fraction >= SHOWN_CHANCE or count == outlook.forecast.points[-1].without_places
        ],
        forecast_words=_forecast_words(outlook.forecast),
    )


_ORDER = (
    PersonStanding.CURRENT,
    PersonStanding.LAPSING,
    PersonStanding.RESTRICTED,
    PersonStanding.PAUSED,
    PersonStanding.LAPSED,
    PersonStanding.SUSPENDED,
    PersonStanding.WITHDRAWN,
    PersonStanding.NOT_YET_SIGNED_OFF,
)
_NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")


def _shifts_finding(outlook: BaseOutlook) -> str:
    number = len(outlook.open_shifts)
    if not number:
        return ""
    word = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{word} shift{'s have' if number > 1 else ' has'} nobody current at some minute."


def _shifts_note(outlook: BaseOutlook) -> str:
    """Say what the next fourteen days hold beside the shifts listed."""
    if not outlook.shifts:
        return f"No shift is entered for the next {SHIFT_DAYS} days, so cover cannot be told."
    thin = sum(one.state is CoverState.THIN for one in outlook.shifts)
    answered = sum(one.situation.is_answered and not one.situation.needs_somebody for one in outlook.shifts)
    covered = len(outlook.shifts) - len(outlook.open_shifts) - answered
    parts = [f"{covered} of {len(outlook.shifts)} shifts in the next {SHIFT_DAYS} days are covered"]
    if thin:
        parts.append(f"{thin} of them by one person only")
    if answered:
        parts.append(f"{answered} {'is' if answered == 1 else 'are'} seen to without a current person")
    stale = any(one.stale_since for one in outlook.shifts)
    return f"{', '.join(parts)}.{' Part of the roster is stale.' if stale else ''}"


def _gap(shift: ShiftSeen, now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    start, end = shift.span.start.astimezone(zone), shift.span.end.astimezone(zone)
    away = (start.date() - now.astimezone(zone).date()).days
    soon = "today" if away <= 0 else "tomorrow" if away == 1 else f"in {away} days"
    whole = shift.situation.open_gaps == (shift.span,)
    part = "" if whole else " for part of it"
    crew = "No crew is entered." if not shift.members else f"Nobody of {len(shift.members)} is current{part}."
    return {
        "when": f"{start:%a} {start.day} {start:%b}, {start:%H:%M} to {end:%H:%M}",
        "where": f"{soon}; {shift.crew}",
        "fix": "Swap first; then an assessor, a restriction, an acceptance.",
        "why": crew,
        "href": url_for("cover.shift", shift_id=shift.id),
        "act": "Ways out, 2 min",
    }


def _groups(
    ahead: tuple[LapseAhead, ...], places: dict[str, tuple[date, ...]]
) -> list[tuple[str, list[dict[str, Any]]]]:
    groups, start = [], -1
    for days in WINDOWS_DAYS:
        rows = [_ahead(one, places) for one in ahead if start < one.days_left <= days]
        if rows:
            groups.append((f"Within {days} days", rows))
        start = days
    return groups


def _ahead(one: LapseAhead, places: dict[str, tuple[date, ...]]) -> dict[str, Any]:
    many = one.ending > 1
    note = f"{one.ending} competencies end" if many else "1 competency ends"
    fix = f"Renew {one.ending} competencies in one round." if many else step_words(one.next_step)
    held = [day for day in places.get(one.person_id, ()) if day <= one.last_valid_day]
    if held:
        fix = f"Place held on {short_day(held[0])}."
    return {"name": one.name, "note": note, "days": one.days_left, "fix": fix}


def _not_in_date(one: NotInDate, places: dict[str, tuple[date, ...]]) -> dict[str, Any]:
    held = places.get(one.person_id, ())
    return {
        "name": one.name,
        "standing": one.standing.value,
        "sentence": one.sentence,
        "fix": f"Place held on {short_day(held[0])}." if held else step_words(one.next_step),
    }


def _counts(outlook: BaseOutlook, today: date) -> list[dict[str, Any]]:
    """Return the drawing as a table: the months back, then today and the days ahead."""
    rows: list[dict[str, Any]] = [
        {"day": short_day(one.day), "without": f"{one.in_date} of {one.people}", "with": "", "range": ""}
        for one in outlook.trend
    ]
    has_places = outlook.forecast.place_count > 0
    for point in outlook.forecast.points:
        if (point.day - today).days in FORECAST_ROWS:
            is_today = point.day == today
            held = has_places and not is_today
            rows.append(
                {
                    "day": "Today" if is_today else short_day(point.day),
                    "without": f"{point.without_places} of {outlook.forecast.people}",
                    "with": f"{point.expected:.1f}" if held else "",
                    "range": _range(point) if held else "",
                }
            )
    return rows


def _range(point: CountAhead) -> str:
    return str(point.low) if point.low == point.high else f"{point.low} to {point.high}"


def _forecast_words(forecast: CountForecast) -> str:
    if not forecast.place_count:
        return "No place is held in the next 90 days, so what happens if nothing is done is all there is to show."
    people = "1 person holds" if forecast.place_count == 1 else f"{forecast.place_count} people hold"
    guess = round(PLACE_SUCCEEDS_FRACTION * 10)
    return (
        f"{people} a place. At least as many as today are current in 90 days with a chance of "
        f"{in_hundred(forecast.as_many_fraction)}. That a place held ends in a sign-off is taken as {guess} in 10, "
        "a guess that nothing here has checked; people are taken as independent, which is optimistic."
    )


def step_words(step: NextStep) -> str:
    """Say the smallest next act in a few words."""
    about = f" {step.competency}" if step.competency else ""
    return {
        NextWhat.NOTHING: "Nothing to do.",
        NextWhat.RENEW: f"Renew{about}.",
        NextWhat.SHOW: f"Show{about}.",
        NextWhat.MEET_CONDITIONS: f"Meet the conditions in{about}.",
        NextWhat.COME_BACK: "Comes back from leave.",
        NextWhat.SPEAK_TO_EDUCATOR: "Educator to speak with them.",
    }[step.what]
