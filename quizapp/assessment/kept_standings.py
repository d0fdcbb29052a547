"""The steps in which a standing goes on from now, kept as plain text, and counted without working anything out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TypeAlias
from zoneinfo import ZoneInfo

from quizapp.assessment.readiness import WINDOWS_DAYS
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing_ahead import Requirements, standings_within
from quizapp.assessment.standing_record import PersonStanding, StandingRecord

KEPT_MOMENT = "%Y-%m-%dT%H:%M:%SZ"
FAR_AHEAD = timedelta(days=366 * 6)
Steps: TypeAlias = Sequence[tuple[str, str, str]]
"""From which moment on, the standing's value, and the first last valid day then ("" for none); in order of time."""


@dataclass
class BaseCount:
    """One base counted: people, who is current, every standing, and how many current people end by 30, 60, 90 days."""

    people: int = 0
    in_date: int = 0
    standings: dict[PersonStanding, int] = field(default_factory=lambda: dict.fromkeys(PersonStanding, 0))
    ending_within: dict[int, int] = field(default_factory=lambda: dict.fromkeys(WINDOWS_DAYS, 0))


def steps_of(
    record: StandingRecord, required: Requirements, now: datetime, zone: ZoneInfo
) -> list[tuple[str, str, str]]:
    """Work out the steps from now on, as far ahead as any sign-off can reach."""
    found: list[tuple[str, str, str]] = []
    for one in standings_within(record, required, Span(now, now + FAR_AHEAD), zone):
        end = one.report.soonest_end.isoformat() if one.report.soonest_end else ""
        if not found or found[-1][1:] != (one.report.standing.value, end):
            at = one.from_at if found else now
            found.append((at.astimezone(UTC).strftime(KEPT_MOMENT), one.report.standing.value, end))
    return found


def count_bases(kept: Iterable[tuple[str, Steps]], now: datetime, today: date) -> dict[str, BaseCount]:
    """Count people by base at a moment not before the steps begin; `kept` gives base ids with steps.

    Raises ValueError for steps that begin after the moment.
    """
    at = now.astimezone(UTC).strftime(KEPT_MOMENT)
    windows = [(days, (today + timedelta(days=days)).isoformat()) for days in WINDOWS_DAYS]
    is_in_date = {standing.value: standing.is_in_date for standing in PersonStanding}
    members = {standing.value: standing for standing in PersonStanding}
    counts: dict[str, BaseCount] = {}
    for base_id, steps in kept:
        count = counts.get(base_id)
        if count is None:
            count = counts[base_id] = BaseCount()
        value, end = _step_at(steps, at)
        count.people += 1
        count.standings[members[value]] += 1
        if is_in_date[value]:
            count.in_date += 1
            for days, last in windows:
                if end and end <= last:
                    count.ending_within[days] += 1
    return counts


def _step_at(steps: Steps, at: str) -> tuple[str, str]:
    found = None
    for from_at, value, end in steps:
        if from_at > at:
            break
        found = (value, end)
    if found is None:
        raise ValueError(f"what is kept begins after {at}")
    return found
