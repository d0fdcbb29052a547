"""How a person stands from one moment on, without asking every minute: the standing changes at few moments only.

What is known now is taken to stay as it is: sign-offs end on their days, leaves and measures begin and end on theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TypeAlias
from zoneinfo import ZoneInfo

from quizapp.assessment.current import is_current
from quizapp.assessment.dates import local_day
from quizapp.assessment.leave import last_day_at_last
from quizapp.assessment.shift_cover import Span, joined_spans
from quizapp.assessment.standing import StandingReport, as_it_holds, standing
from quizapp.assessment.standing_record import Outcome, ProfileRevision, RequiredCompetency, StandingRecord
from quizapp.assessment.validity import LAPSING_DAYS

Requirements: TypeAlias = Sequence[tuple[date, tuple[RequiredCompetency, ...]]]
"""What each standard requires, by its first day; no two begin on one day."""


@dataclass(frozen=True, kw_only=True)
class StandingFrom:
    """How a person stands from a moment (aware UTC) until the next one of a list."""

    from_at: datetime
    report: StandingReport


def standings_within(
    record: StandingRecord, required: Requirements, within: Span, zone: ZoneInfo
) -> tuple[StandingFrom, ...]:
    """Give the standing at the start of `within` and at each later moment inside at which it can change."""
    known = _turning_points(record, required, within, zone, lapsing_too=True)
    found: list[StandingFrom] = []
    at: datetime | None = within.start
    while at is not None and at < within.end:
        found.append(StandingFrom(from_at=at, report=standing_at(record, required, at, zone)))
        # Last valid days are those the rule itself gives, since leave may move them.
        ahead = {*known, *(begin_of(day, zone) for day in _days_of(found[-1].report))}
        at = min((moment for moment in ahead if moment > at), default=None)
    return tuple(found)


def _days_of(report: StandingReport) -> set[date]:
    """Give the days on which a row of a report turns into another: it begins to lapse, or it has lapsed."""
    ends = {row.last_valid_day for row in report.rows if row.last_valid_day is not None}
    return {day for end in ends for day in (end - timedelta(days=LAPSING_DAYS), end + timedelta(days=1))}


def standing_at(record: StandingRecord, required: Requirements, minute_utc: datetime, zone: ZoneInfo) -> StandingReport:
    """Give the standing at one minute under the standard in force then; before the first one nothing is required."""
    return standing(_asked(record, required, minute_utc, zone), minute_utc, zone)


def _asked(record: StandingRecord, required: Requirements, minute_utc: datetime, zone: ZoneInfo) -> StandingRecord:
    """Give the record with what the standard in force at a minute requires."""
    day = local_day(minute_utc, zone)
    begun = [one for one in required if one[0] <= day]
    return replace(record, required=max(begun, key=lambda one: one[0])[1] if begun else ())


def current_spells(record: StandingRecord, required: Requirements, within: Span, zone: ZoneInfo) -> tuple[Span, ...]:
    """Give the spans inside `within` in which a person is current."""
    known = _turning_points(record, required, within, zone, lapsing_too=False)
    spells: list[Span] = []
    at: datetime | None = within.start
    while at is not None and at < within.end:
        ahead = {*known, *(begin_of(day, zone) for day in _days_after(record, at, zone))}
        after = min((moment for moment in ahead if moment > at), default=None)
        if is_current(_asked(record, required, at, zone), at, zone):
            spells.append(Span(at, within.end if after is None else min(after, within.end)))
        at = after
    return joined_spans(spells)


def _days_after(record: StandingRecord, at: datetime, zone: ZoneInfo) -> set[date]:
    """Give the days after last valid days as leave has moved them by then; without leave they are known beforehand."""
    if not record.pauses:
        return set()
    held = as_it_holds(record, at, local_day(at, zone)).decisions
    return {one.last_valid_day + timedelta(days=1) for one in held if one.last_valid_day is not None}


def from_then_on(record: StandingRecord, from_at: datetime, zone: ZoneInfo) -> StandingRecord:
    """Give the record without the decisions that can say nothing at any moment from `from_at` on.

    A decision goes when a later one on the same competency and revision has begun by then and is not void.
    """
    day = local_day(from_at, zone)
    newest: dict[tuple[str, ProfileRevision], datetime] = {}
    for one in record.decisions:
        has_begun = one.voided_at is None and one.decided_at <= from_at and one.valid_from <= day
        if has_begun and one.outcome is not Outcome.NOT_YET:
            key = (one.competency, one.profile)
            newest[key] = max(one.decided_at, newest.get(key, one.decided_at))
    kept = tuple(
        one for one in record.decisions if one.decided_at >= newest.get((one.competency, one.profile), one.decided_at)
    )
    return record if len(kept) == len(record.decisions) else replace(record, decisions=kept)


def begin_of(day: date, zone: ZoneInfo) -> datetime:
    """Give the moment (UTC) at which a civil day of a zone begins."""
    return datetime.combine(day, time.min, zone).astimezone(UTC)


def _turning_points(
    record: StandingRecord, required: Requirements, within: Span, zone: ZoneInfo, *, lapsing_too: bool
) -> list[datetime]:
    """Give the moments strictly inside `within` at which a standing can change, in order."""
    first, last = local_day(within.start, zone), local_day(within.end, zone)
    days = {day for day in _turning_days(record, required, lapsing_too=lapsing_too) if first <= day <= last}
    moments = {begin_of(day, zone) for day in days}
    moments |= set(record.endings)
    for measure in (*record.suspensions, *record.withdrawals):
        moments |= {measure.from_at} | ({measure.until_at} if measure.until_at is not None else set())
    for decision in record.decisions:
        moments.add(decision.decided_at)
        if decision.voided_at is not None:
            moments.add(decision.voided_at)
    return sorted(moment for moment in moments if within.start < moment < within.end)


def _turning_days(record: StandingRecord, required: Requirements, *, lapsing_too: bool) -> set[date]:
    days = {starts_on for starts_on, _ in required}
    ends: list[date | None] = []
    for decision in record.decisions:
        days.add(decision.valid_from)
        moved = last_day_at_last(decision, record.pauses) if record.pauses else None
        for end in (decision.last_valid_day, moved):
            ends.append(end)
            if end is not None and lapsing_too:
                days.add(end - timedelta(days=LAPSING_DAYS))
    for pause in record.pauses:
        days.add(pause.from_day)
        ends.append(pause.until_day)
        if pause.return_completed_on is not None:
            days.add(pause.return_completed_on)
    for restriction in record.restrictions:
        days.add(restriction.from_day)
        ends.append(restriction.until_day)
    for device in record.in_service:
        days.add(device.from_day)
        ends.append(device.until_day)
    return days | {end + timedelta(days=1) for end in ends if end is not None}
