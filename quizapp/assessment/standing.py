"""How a person stands at one minute at one base: one pure function over the record, the time and the service's zone.

A person is current at a base only where every revision in service there is covered. Last valid days are inclusive.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from quizapp.assessment.dates import day_in_words, local_day
from quizapp.assessment.leave import RETURN_CONDITIONS, awaits_return, on_the_clock
from quizapp.assessment.standing_record import (
    PRECEDENCE,
    CompetencyStanding,
    Decision,
    InService,
    Measure,
    Outcome,
    Pause,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    Restriction,
    StandingRecord,
    first_by_precedence,
)
from quizapp.assessment.standing_words import (
    CompetencyRow,
    NextStep,
    NextWhat,
    left_words,
    next_step,
    standing_sentence,
)
from quizapp.assessment.validity import days_left, is_lapsing

__all__ = [
    "PRECEDENCE",
    "CompetencyRow",
    "CompetencyStanding",
    "Decision",
    "InService",
    "Measure",
    "NextStep",
    "NextWhat",
    "Outcome",
    "Pause",
    "PersonStanding",
    "ProfileRevision",
    "RequiredCompetency",
    "Restriction",
    "RevisionStanding",
    "StandingRecord",
    "StandingReport",
    "standing",
]

SEVERITY = (Outcome.COMPETENT, Outcome.RESTRICTED, Outcome.NOT_YET)


@dataclass(frozen=True, kw_only=True)
class RevisionStanding:
    """How the person stands on one profile revision in service."""

    profile: ProfileRevision
    standing: PersonStanding


@dataclass(frozen=True, kw_only=True)
class StandingReport:
    """The standing, what it rests on, one plain sentence and the next thing to do.

    `rows` has one row for each required competency and revision in service. `soonest_end` is the first last valid
    day still to come. `conditions` are those of restrictions in force.
    """

    standing: PersonStanding
    day: date
    rows: tuple[CompetencyRow, ...]
    by_revision: tuple[RevisionStanding, ...]
    soonest_end: date | None
    conditions: tuple[str, ...]
    sentence: str
    next_step: NextStep

    def of_competency(self, competency: str) -> CompetencyStanding:
        """Give the standing in one competency over all revisions in service (the least good one).

        A competency that is not required, or has no revision in service, is not yet signed off.
        """
        states = {row.standing for row in self.rows if row.competency == competency}
        return min(states, key=_LEAST_GOOD_FIRST.index, default=CompetencyStanding.NOT_YET_SIGNED_OFF)

    @property
    def soonest_first(self) -> tuple[CompetencyRow, ...]:
        """The rows, what ends or ended first before the rest, what has no day first of all."""
        return tuple(sorted(self.rows, key=lambda row: row.last_valid_day or date.min))


_LEAST_GOOD_FIRST = (
    CompetencyStanding.WITHDRAWN,
    CompetencyStanding.SUSPENDED,
    CompetencyStanding.NOT_YET_SIGNED_OFF,
    CompetencyStanding.LAPSED,
    CompetencyStanding.LAPSING,
    CompetencyStanding.CURRENT,
)


def standing(record: StandingRecord, minute_utc: datetime, zone: ZoneInfo) -> StandingReport:
    """Work out how a person stood, stands or will stand, as the record is known at that minute.

    `minute_utc` is an aware time; `zone` is the time zone of the service, in which days begin and end.
    Raises ValueError for a time without an offset.
    """
    day = local_day(minute_utc, zone)
    record = as_it_holds(record, minute_utc, day)
    revisions = sorted({one.profile for one in record.in_service if one.is_on(day)})
    rows = tuple(
        _row(record, competency, profile, minute_utc, day) for profile in revisions for competency in record.required
    )
    restrictions = tuple(one for one in record.restrictions if one.holds_on(day))
    is_returning = awaits_return(record.pauses, day) is not None
    whole_person = whole_person_standings(record, minute_utc, day, is_restricted=bool(restrictions) or is_returning)
    by_revision = tuple(
        RevisionStanding(
            profile=profile,
            standing=first_by_precedence(
                [*whole_person, _of_rows([row for row in rows if row.profile == profile])],
            ),
        )
        for profile in revisions
    )
    found = first_by_precedence(
        [*whole_person, *(one.standing for one in by_revision)]
        if by_revision
        else [*whole_person, PersonStanding.NOT_YET_SIGNED_OFF]
    )
    return StandingReport(
        standing=found,
        day=day,
        rows=rows,
        by_revision=by_revision,
        soonest_end=_soonest_end(rows, restrictions, found),
        conditions=(*((RETURN_CONDITIONS,) if is_returning else ()), *_conditions(rows, restrictions)),
        sentence=standing_sentence(found, record, rows, minute_utc, zone),
        next_step=next_step(found, rows),
    )


def as_it_holds(record: StandingRecord, minute_utc: datetime, day: date) -> StandingRecord:
    """Leave out decisions from before the person left or an engagement ended, and move days over long leave."""
    if not record.endings and not record.pauses:
        return record
    ended_at = max((at for at in record.endings if at <= minute_utc), default=None)
    decisions = tuple(
        on_the_clock(one, record.pauses, day)
        for one in record.decisions
        if ended_at is None or one.decided_at > ended_at
    )
    return replace(record, decisions=decisions)


def whole_person_standings(
    record: StandingRecord, minute_utc: datetime, day: date, *, is_restricted: bool
) -> list[PersonStanding]:
    """Give the standings that hold for the whole person, whatever the competencies say."""
    found = []
    if any(one.competency is None and one.holds_at(minute_utc) for one in record.withdrawals):
        found.append(PersonStanding.WITHDRAWN)
    if any(one.competency is None and one.holds_at(minute_utc) for one in record.suspensions):
        found.append(PersonStanding.SUSPENDED)
    if any(one.holds_on(day) for one in record.pauses):
        found.append(PersonStanding.PAUSED)
    if is_restricted:
        found.append(PersonStanding.RESTRICTED)
    return found


def _of_rows(rows: list[CompetencyRow]) -> PersonStanding:
    """Give the standing that the competencies of one revision make together."""
    if not rows:
        return PersonStanding.NOT_YET_SIGNED_OFF
    return first_by_precedence(_person_standing_of(row) for row in rows)


_CRITICAL_MAKES = {
    CompetencyStanding.WITHDRAWN: PersonStanding.WITHDRAWN,
    CompetencyStanding.SUSPENDED: PersonStanding.SUSPENDED,
    CompetencyStanding.LAPSED: PersonStanding.LAPSED,
}


def _person_standing_of(row: CompetencyRow) -> PersonStanding:
    """Give what one competency makes of the person; one that is not critical restricts at most."""
    if row.standing in _CRITICAL_MAKES:
        return _CRITICAL_MAKES[row.standing] if row.is_critical else PersonStanding.RESTRICTED
    if row.standing is CompetencyStanding.NOT_YET_SIGNED_OFF:
        return PersonStanding.NOT_YET_SIGNED_OFF
    if row.conditions:
        return PersonStanding.RESTRICTED
    return PersonStanding.LAPSING if row.standing is CompetencyStanding.LAPSING else PersonStanding.CURRENT


def _row(
    record: StandingRecord, required: RequiredCompetency, profile: ProfileRevision, minute_utc: datetime, day: date
) -> CompetencyRow:
    """Work out one competency on one revision."""
    decisions = [one for one in record.decisions if one.competency == required.code and one.stands_at(minute_utc, day)]
    decision = _latest(one for one in decisions if one.profile == profile)
    state, why = measured(record, required.code, decision, minute_utc) or _decided(decision, day)
    elsewhere = sorted(
        {one.profile for one in decisions if one.profile != profile and one.outcome is not Outcome.NOT_YET}
    )
    if decision is None and elsewhere and state is CompetencyStanding.NOT_YET_SIGNED_OFF:
        why = f"Signed off on {elsewhere[-1]}, not on {profile}, which is in service here."
    last_day = None if decision is None else decision.last_valid_day
    return CompetencyRow(
        competency=required.code,
        title=required.title,
        is_critical=required.is_critical,
        profile=profile,
        standing=state,
        last_valid_day=last_day,
        days_left=None if last_day is None else days_left(last_day, day),
        conditions=decision.conditions if decision is not None and state.is_in_date else "",
        why=why,
        decision_reference=None if decision is None else decision.reference,
    )


def _latest(decisions: Iterable[Decision]) -> Decision | None:
    """Give the latest decision; of two made at the same instant the less favourable one."""
    return max(decisions, key=decision_weight, default=None)


def decision_weight(decision: Decision) -> tuple[datetime, int, int, str, date, str]:
    """Order decisions by time, then by what is less favourable: outcome, an earlier end, conditions."""
    ends = decision.last_valid_day or date.max
    severity = SEVERITY.index(decision.outcome)
    return (
        decision.decided_at,
        severity,
        -ends.toordinal(),
        decision.conditions,
        decision.valid_from,
        decision.reference,
    )


def measured(
    record: StandingRecord, competency: str, decision: Decision | None, minute_utc: datetime
) -> tuple[CompetencyStanding, str] | None:
    """Give withdrawal or suspension of a competency, if one holds.

    A withdrawal of one competency ends with the next decision on it; a suspension only when it is lifted.
    """
    for one in record.withdrawals:
        is_newer = decision is not None and one.competency is not None and decision.decided_at > one.from_at
        if one.competency in {None, competency} and one.holds_at(minute_utc) and not is_newer:
            return CompetencyStanding.WITHDRAWN, "Withdrawn by an educator's decision."
    for one in record.suspensions:
        if one.competency in {None, competency} and one.holds_at(minute_utc):
            return CompetencyStanding.SUSPENDED, "Suspended until an educator lifts it."
    return None


def _decided(decision: Decision | None, day: date) -> tuple[CompetencyStanding, str]:
    """Give the standing that the latest decision makes on that day, and why."""
    if decision is None:
        return CompetencyStanding.NOT_YET_SIGNED_OFF, "Not yet signed off."
    if decision.outcome is Outcome.NOT_YET or decision.last_valid_day is None:
        return CompetencyStanding.NOT_YET_SIGNED_OFF, f"Decided on {day_in_words(decision.valid_from)}: not yet."
    last_day = day_in_words(decision.last_valid_day)
    left = days_left(decision.last_valid_day, day)
    if left < 0:
        return CompetencyStanding.LAPSED, f"The last valid day was {last_day}."
    if is_lapsing(decision.last_valid_day, day):
        return CompetencyStanding.LAPSING, f"Valid until {last_day}: {left_words(left)}."
    return CompetencyStanding.CURRENT, f"Valid until {last_day}."


def _soonest_end(
    rows: tuple[CompetencyRow, ...], restrictions: tuple[Restriction, ...], found: PersonStanding
) -> date | None:
    ends = [row.last_valid_day for row in rows if row.standing.is_in_date and row.last_valid_day is not None]
    if found is PersonStanding.RESTRICTED:
        ends.extend(one.until_day for one in restrictions)
    return min(ends, default=None)


def _conditions(rows: tuple[CompetencyRow, ...], restrictions: tuple[Restriction, ...]) -> tuple[str, ...]:
    said = [one.conditions for one in restrictions]
    said.extend(f"{row.competency}: {row.conditions}" for row in rows if row.conditions)
    return tuple(dict.fromkeys(said))
