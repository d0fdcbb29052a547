"""How people stand at a minute: gathers their records in bulk and asks the one pure rule."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from sqlalchemy import select

from quizapp.assessment.standing import (
    Decision,
    InService,
    Measure,
    Outcome,
    Pause,
    ProfileRevision,
    RequiredCompetency,
    Restriction,
    StandingRecord,
    StandingReport,
    standing,
)
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.standards import standard_on
from quizapp.store import decisions as stored
from quizapp.store.devices import DeviceInService
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class PersonStands:
    """One person and how they stand at their own base."""

    person: Person
    record: StandingRecord
    report: StandingReport


def standings(
    act: Act, library: Library, people: Sequence[Person], *, at: datetime | None = None
) -> dict[str, PersonStands]:
    """Return how each of the people stands, with a constant number of statements.

    at: the minute asked about, aware UTC (default: now). The standard in force on that day applies.
    """
    minute = at or act.now
    records = standing_records(act, library, people, at=minute)
    return {
        person.id: PersonStands(
            person=person, record=records[person.id], report=standing(records[person.id], minute, act.zone)
        )
        for person in people
    }


def standing_of(act: Act, library: Library, person_id: str, *, at: datetime | None = None) -> PersonStands:
    """Return how one person stands; raises NotFound through the session when there is no such person."""
    person = act.session.get_one(Person, person_id)
    return standings(act, library, [person], at=at)[person_id]


def standing_records(
    act: Act, library: Library, people: Sequence[Person], *, at: datetime
) -> dict[str, StandingRecord]:
    """Return what each standing is worked out from."""
    ids = [person.id for person in people]
    required = _required(act, library, at)
    in_service = _in_service(act, {person.base_id for person in people})
    decisions = _decisions(act, ids)
    events = _events(act, ids, at)
    return {
        person.id: StandingRecord(
            required=required,
            in_service=tuple(in_service[person.base_id]),
            decisions=tuple(decisions[person.id]),
            suspensions=tuple(_measures(act, events[person.id], StandingEventKind.SUSPENDED)),
            withdrawals=tuple(_measures(act, events[person.id], StandingEventKind.WITHDRAWN)),
            pauses=tuple(
                Pause(from_day=event.from_day, until_day=event.until_day)
                for event in events[person.id]
                if event.kind == StandingEventKind.PAUSED
            ),
            restrictions=tuple(
                Restriction(conditions=event.reason, from_day=event.from_day, until_day=event.until_day)
                for event in events[person.id]
                if event.kind == StandingEventKind.RESTRICTED and event.until_day is not None
            ),
        )
        for person in people
    }


def _required(act: Act, library: Library, at: datetime) -> tuple[RequiredCompetency, ...]:
    in_force = standard_on(act.session, at.astimezone(act.zone).date())
    if in_force is None:
        return ()
    return tuple(
        RequiredCompetency(
            code=one.competency,
            title=library.competencies[one.competency].title if one.competency in library.competencies else "",
            is_critical=one.is_critical,
        )
        for one in in_force.requirements
    )


def _in_service(act: Act, base_ids: set[str]) -> dict[str, list[InService]]:
    found: dict[str, list[InService]] = defaultdict(list)
    for row in act.session.scalars(select(DeviceInService).where(DeviceInService.base_id.in_(base_ids))):
        profile = ProfileRevision(code=row.profile_code, revision=row.profile_revision)
        found[row.base_id].append(InService(profile=profile, from_day=row.from_day, until_day=row.until_day))
    return found


def _decisions(act: Act, person_ids: list[str]) -> dict[str, list[Decision]]:
    found: dict[str, list[Decision]] = defaultdict(list)
    for row in act.session.scalars(select(stored.Decision).where(stored.Decision.person_id.in_(person_ids))):
        found[row.person_id].append(
            Decision(
                reference=row.id,
                competency=row.competency,
                profile=ProfileRevision(code=row.profile_code, revision=row.profile_revision),
                outcome=Outcome(row.outcome),
                decided_at=row.decided_at,
                valid_from=row.valid_from,
                last_valid_day=row.last_valid_day,
                conditions=row.conditions or "",
                voided_at=row.voided_at,
            )
        )
    return found


def _events(act: Act, person_ids: list[str], at: datetime) -> dict[str, list[stored.StandingEvent]]:
    """Return what was recorded by that minute; what somebody wrote down later changes no day gone by."""
    found: dict[str, list[stored.StandingEvent]] = defaultdict(list)
    rows = select(stored.StandingEvent).where(
        stored.StandingEvent.person_id.in_(person_ids), stored.StandingEvent.recorded_at <= at
    )
    for row in act.session.scalars(rows):
        found[row.person_id].append(row)
    return found


def _measures(act: Act, events: Sequence[stored.StandingEvent], kind: StandingEventKind) -> list[Measure]:
    """Return measures as moments: never before they were recorded, to the end of their last day."""
    measures = []
    for event in events:
        if event.kind != kind:
            continue
        start = datetime.combine(event.from_day, time.min, act.zone)
        end = datetime.combine(event.until_day + timedelta(days=1), time.min, act.zone) if event.until_day else None
        measures.append(Measure(from_at=max(start, event.recorded_at), until_at=end, reason=event.reason))
    return measures
