"""Whether a person is current at a minute: the yes or no of the one standing rule, without its words.

Calendars ask this thousands of times; it always says what `standing` says (tested side by side).
"""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from quizapp.assessment.dates import local_day
from quizapp.assessment.leave import awaits_return
from quizapp.assessment.standing import as_it_holds, decision_weight, measured, whole_person_standings
from quizapp.assessment.standing_record import Decision, Outcome, ProfileRevision, StandingRecord


def is_current(record: StandingRecord, minute_utc: datetime, zone: ZoneInfo) -> bool:
    """Whether every required competency is in date, without conditions, on every revision in service.

    `minute_utc` is an aware time; `zone` is the time zone of the service. Raises ValueError without an offset.
    """
    day = local_day(minute_utc, zone)
    profiles = {one.profile for one in record.in_service if one.is_on(day)}
    if not profiles or not record.required or _is_held_back(record, minute_utc, day):
        return False
    latest: dict[tuple[str, ProfileRevision], Decision] = {}
    for one in as_it_holds(record, minute_utc, day).decisions:
        if one.profile in profiles and one.stands_at(minute_utc, day):
            key = (one.competency, one.profile)
            known = latest.get(key)
            if known is None or _outranks(one, known):
                latest[key] = one
    return all(
        _holds(record, required.code, latest.get((required.code, profile)), minute_utc, day)
        for profile in profiles
        for required in record.required
    )


def _outranks(one: Decision, known: Decision) -> bool:
    """Whether a decision comes before another; mostly the later moment tells already."""
    if one.decided_at != known.decided_at:
        return one.decided_at > known.decided_at
    return decision_weight(one) > decision_weight(known)


def _is_held_back(record: StandingRecord, minute_utc: datetime, day: date) -> bool:
    """Whether something about the whole person stands before every competency."""
    if not (record.withdrawals or record.suspensions or record.pauses or record.restrictions):
        return False
    is_restricted = any(one.holds_on(day) for one in record.restrictions)
    is_returning = awaits_return(record.pauses, day) is not None
    return bool(whole_person_standings(record, minute_utc, day, is_restricted=is_restricted or is_returning))


def _holds(record: StandingRecord, competency: str, decision: Decision | None, minute_utc: datetime, day: date) -> bool:
    if decision is None or decision.outcome is Outcome.NOT_YET or decision.conditions:
        return False
    if decision.last_valid_day is None or decision.last_valid_day < day:
        return False
    return measured(record, competency, decision, minute_utc) is None
