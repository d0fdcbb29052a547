"""What the calendar of crews and the page of one shift show, laid out for their templates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from flask import url_for

from quizapp.assessment.dates import local_day
from quizapp.assessment.shift_answers import AnswerKind
from quizapp.assessment.shift_cover import CoverState, Span
from quizapp.services.shift_covers import AnswerSeen, ShiftSeen
from quizapp.store.people import RescueBase
from quizapp.web.filters import day, local_moment, short_day

DAYS_SHOWN = 14
MOST_CREWS = 4
NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve")
KIND_WORDS = {
    AnswerKind.SWAP: "Swapped",
    AnswerKind.BRING_ASSESSOR: "An assessor comes",
    AnswerKind.RESTRICT_DEVICE: "The device is not used",
    AnswerKind.ACCEPT: "Accepted",
    AnswerKind.TAKEN_BACK: "Taken back",
}


@dataclass(frozen=True, kw_only=True)
class ShownCalendar:
    """The finding, what to open first, and the days with the shifts of each base."""

    finding: str
    lede: str
    first: ShiftSeen | None
    bases: list[str]
    days: list[dict[str, Any]]
    stale: str


def shown_calendar(
    shifts: Sequence[ShiftSeen], bases: Sequence[RescueBase], first_day: date, today: date, zone: ZoneInfo
) -> ShownCalendar:
    """Lay out fourteen days of shifts, a row a day and a column a base."""
    columns = _columns(shifts, bases)
    by_cell: dict[tuple[date, str], list[ShiftSeen]] = defaultdict(list)
    for shift in shifts:
        column = shift.crew if len(bases) == 1 and shift.crew in columns else shift.base.id
        by_cell[(local_day(shift.span.start, zone), column)].append(shift)
    open_ones = [one for one in shifts if one.situation.needs_somebody]
    stale = [one.stale_since for one in shifts if one.stale_since is not None]
    return ShownCalendar(
        finding=cover_finding(shifts),
        lede=_lede(shifts),
        first=open_ones[0] if open_ones else None,
        bases=list(columns.values()),
        days=[
            _day(first_day + timedelta(days=away), list(columns), by_cell, today, zone) for away in range(DAYS_SHOWN)
        ],
        stale=f"{_shifts(len(stale))} stale: not looked at since {local_moment(min(stale))}." if stale else "",
    )


def _columns(shifts: Sequence[ShiftSeen], bases: Sequence[RescueBase]) -> dict[str, str]:
    """Return a column for each base, or for each crew where one base with a few crews is shown."""
    crews = sorted({one.crew for one in shifts})
    if len(bases) == 1 and 1 < len(crews) <= MOST_CREWS:
        return {crew: crew for crew in crews}
    return {base.id: base.name for base in bases}


def cover_finding(shifts: Sequence[ShiftSeen]) -> str:
    """Say in one sentence how many shifts have nobody current that nothing was done about."""
    open_count = sum(one.situation.needs_somebody for one in shifts)
    if not shifts:
        return "No shift is entered for these days."
    if open_count == 0:
        return "Somebody current is on every shift." if not _answered(shifts) else "Every shift is seen to."
    return f"{_shifts(open_count)} nobody current at some minute.".replace(" is ", " has ").replace(" are ", " have ")


def _lede(shifts: Sequence[ShiftSeen]) -> str:
    thin = sum(one.state is CoverState.THIN for one in shifts)
    answered = _answered(shifts)
    parts = []
    if answered:
        parts.append(f"{_shifts(answered)} seen to without a current person.")
    if thin:
        parts.append(f"{_shifts(thin)} covered by a single person.")
    return " ".join(parts)


def _answered(shifts: Iterable[ShiftSeen]) -> int:
    return sum(one.situation.is_answered and not one.situation.needs_somebody for one in shifts)


def _shifts(number: int) -> str:
    """Write a number of shifts with its verb at the beginning of a sentence: "One shift is", "Two shifts are"."""
    word = NUMBERS[number] if number < len(NUMBERS) else str(number)
    return f"{word} shift is" if number == 1 else f"{word} shifts are"


def _day(
    at: date, columns: Sequence[str], by_cell: dict[tuple[date, str], list[ShiftSeen]], today: date, zone: ZoneInfo
) -> dict[str, Any]:  # fmt: skip
    return {
        "weekday": f"{at:%a}",
        "day": at.day,
        "month": f"{at:%B}",
        "is_today": at == today,
        "starts_week": at.weekday() == 0,
        "cells": [[_shift(one, zone) for one in by_cell[(at, column)]] for column in columns],
    }


def _shift(shift: ShiftSeen, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "href": url_for("cover.shift", shift_id=shift.id),
        "crew": shift.crew,
        "hours": hours(shift.span, zone),
        "current": shift.current_count,
        "others": len(shift.members) - shift.current_count,
        "word": state_word(shift),
        "is_none": shift.situation.needs_somebody,
        "is_thin": shift.state is CoverState.THIN,
        "is_stale": shift.stale_since is not None,
        "where": f"{shift.base.name}, {day(local_day(shift.span.start, zone))}",
        "who": ", ".join(one.name for one in shift.members if one.is_current),
    }


def state_word(shift: ShiftSeen) -> str:
    """Say in one or two words how a shift stands."""
    if shift.situation.needs_somebody:
        return "none" if shift.situation.cover.is_whole_gap(shift.span) else "gap"
    if shift.situation.is_answered:
        kinds = {one.kind for one in shift.answers if one.stands}
        return "accepted" if AnswerKind.ACCEPT in kinds else "restricted"
    return "one" if shift.state is CoverState.THIN else "covered"


def hours(span: Span, zone: ZoneInfo) -> str:
    """Write the hours of a shift in little room, such as 19:00 to 07:00."""
    start, end = span.start.astimezone(zone), span.end.astimezone(zone)
    return f"{start:%H:%M} to {end:%H:%M}"


def when(span: Span, zone: ZoneInfo) -> str:
    """Write the day and the hours of a shift, with the second day where it ends on another one."""
    start = span.start.astimezone(zone)
    return f"{start:%A} {day(start.date())}, {hours(span, zone)}"


def gap_words(shift: ShiftSeen, zone: ZoneInfo) -> str:
    """Say which part of a shift has nobody current."""
    gaps = shift.situation.open_gaps
    if gaps == (shift.span,):
        return "for all of it"
    return " and ".join(f"from {_minute(gap.start, shift, zone)} to {_minute(gap.end, shift, zone)}" for gap in gaps)


def _minute(moment: datetime, shift: ShiftSeen, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    is_other_day = local.date() != shift.span.start.astimezone(zone).date()
    return f"{local:%H:%M}" + (f" on {short_day(local.date())}" if is_other_day else "")


def shift_finding(shift: ShiftSeen, zone: ZoneInfo) -> str:
    """Say in one sentence how one shift is covered."""
    if shift.situation.needs_somebody:
        if not shift.members:
            return f"{shift.crew} has no crew yet."
        gaps = gap_words(shift, zone)
        return f"Nobody on {shift.crew} is current {gaps if gaps != 'for all of it' else 'on this shift'}."
    if shift.situation.is_answered:
        return f"{shift.crew} has nobody current at some minute, and this is seen to."
    if shift.state is CoverState.THIN:
        return f"{shift.crew} is covered, at some minute by one person only."
    return f"{shift.crew} is covered by {shift.situation.cover.fewest} at every minute."


def shown_members(shift: ShiftSeen, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return the crew: name, part, hours of their own where they differ, and whether they are current throughout."""
    return [
        {
            "name": one.name,
            "role": one.crew_role,
            "hours": "" if one.present == shift.span else hours(one.present, zone),
            "is_current": one.is_current,
            "word": "current" if one.is_current else _part_words(one.current, one.present, zone),
        }
        for one in shift.members
    ]


def _part_words(current: Sequence[Span], present: Span, zone: ZoneInfo) -> str:
    if not current:
        return "not current on this shift"
    last = current[-1]
    if last.end < present.end:
        return f"current until {last.end.astimezone(zone):%H:%M} only"
    return f"current from {last.start.astimezone(zone):%H:%M} only"


def shown_answer(one: AnswerSeen) -> dict[str, Any]:
    """Return what was done in plain words."""
    details = {
        AnswerKind.SWAP: f"{one.other} for {one.person}",
        AnswerKind.BRING_ASSESSOR: f"{one.other} watches {one.person} before the shift",
        AnswerKind.RESTRICT_DEVICE: f"until {local_moment(one.ends_at)}" if one.ends_at else "",
        AnswerKind.ACCEPT: "the shift goes ahead with nobody current",
        AnswerKind.TAKEN_BACK: "",
    }
    return {
        "id": one.id,
        "words": KIND_WORDS[one.kind],
        "detail": details[one.kind],
        "authority": one.authority,
        "reason": one.reason,
        "by": one.recorded_by,
        "at": one.recorded_at,
        "taken_back_by": one.taken_back_by,
        "may_take_back": one.stands and one.kind is not AnswerKind.SWAP,
    }
