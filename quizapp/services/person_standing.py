"""How people stand at a minute: gathers their records as known at that minute and asks the one pure rule.

What was written down later changes no minute gone by: each record counts from the moment it was recorded.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TypeAlias

from sqlalchemy import or_, select

from quizapp.assessment.dates import local_day
from quizapp.assessment.roles import Role
from quizapp.assessment.standing import (
    InService,
    Measure,
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
from quizapp.services.standards import shortenings_known, standard_on
from quizapp.services.standing_decisions import decisions_of
from quizapp.store import decisions as stored
from quizapp.store.devices import DeviceInService
from quizapp.store.fair_paths import Departure, LeaveReturn
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant

Event: TypeAlias = tuple[stored.StandingEvent, datetime | None]
"""A suspension, withdrawal, pause or restriction, and the minute at which somebody ended it early."""


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

    at: the minute asked about, aware UTC (default: now). The standard in force, the devices in the packs and the base
    of that minute apply, as they were known then.
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
    act: Act, library: Library, people: Sequence[Person], *, at: datetime, since: datetime | None = None,
    without_terms: bool = False,
) -> dict[str, StandingRecord]:  # fmt: skip
    """Return what each standing is worked out from, as known at a minute.

    since: decisions that can say nothing from that moment on are left out (default: all come along).
    without_terms: what is required and the devices in service are left to the caller, who asks for other days or bases.
    """
    ids = [person.id for person in people]
    required = () if without_terms else _required(act, library, at)
    bases = bases_at(act, people, at)
    in_service = {} if without_terms else _in_service(act, set(bases.values()), at)
    decisions = decisions_of(act, ids, shortenings_known(act.session, at), since=since)
    events = _events(act, ids, at)
    endings = _endings(act, people, at)
    returns = _returns(act, [key for key, known in events.items() if any(map(_is_leave, known))], at)
    return {
        person.id: StandingRecord(
            required=required,
            in_service=tuple(in_service.get(bases[person.id], ())),
            decisions=tuple(decisions[person.id]),
            suspensions=tuple(_measures(act, events[person.id], StandingEventKind.SUSPENDED)),
            withdrawals=tuple(_measures(act, events[person.id], StandingEventKind.WITHDRAWN)),
            pauses=tuple(_pauses(act, events[person.id], returns)),
            restrictions=tuple(_restrictions(events[person.id], [end for end in endings[person.id] if end <= at])),
            endings=tuple(endings[person.id]),
        )
        for person in people
    }


def _required(act: Act, library: Library, at: datetime) -> tuple[RequiredCompetency, ...]:
    in_force = standard_on(act.session, at.astimezone(act.zone).date(), known_at=at)
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


def bases_at(act: Act, people: Sequence[Person], at: datetime) -> dict[str, str]:
    """Return the base each person belonged to at a minute, told by the role of clinician they held there."""
    bases = {person.id: person.base_id for person in people}
    if at >= act.now:
        return bases
    held = (
        select(RoleGrant.person_id, RoleGrant.base_id)
        .where(RoleGrant.person_id.in_(bases), RoleGrant.role == Role.CLINICIAN.value, RoleGrant.granted_at <= at)
        .where(or_(RoleGrant.ended_at.is_(None), RoleGrant.ended_at > at), RoleGrant.base_id.is_not(None))
        .order_by(RoleGrant.granted_at)
    )
    return bases | {person_id: base_id for person_id, base_id in act.session.execute(held) if base_id is not None}


def _in_service(act: Act, base_ids: set[str], at: datetime) -> dict[str, list[InService]]:
    found: dict[str, list[InService]] = defaultdict(list)
    rows = select(DeviceInService).where(DeviceInService.base_id.in_(base_ids), DeviceInService.recorded_at <= at)
    for row in act.session.scalars(rows):
        profile = ProfileRevision(code=row.profile_code, revision=row.profile_revision)
        until_day = row.until_day if row.taken_out_at is None or row.taken_out_at <= at else None
        found[row.base_id].append(InService(profile=profile, from_day=row.from_day, until_day=until_day))
    return found


def _events(act: Act, person_ids: list[str], at: datetime) -> dict[str, list[Event]]:
    """Return what was recorded by that minute; what somebody wrote down later changes no minute gone by."""
    found: dict[str, list[Event]] = defaultdict(list)
    rows = (
        select(stored.StandingEvent, stored.StandingEnd.recorded_at)
        .outerjoin(stored.StandingEnd, stored.StandingEnd.event_id == stored.StandingEvent.id)
        .where(stored.StandingEvent.person_id.in_(person_ids), stored.StandingEvent.recorded_at <= at)
    )
    for event, ended_at in act.session.execute(rows):
        found[event.person_id].append((event, ended_at if ended_at is not None and ended_at <= at else None))
    return found


def _measures(act: Act, events: Iterable[Event], kind: StandingEventKind) -> list[Measure]:
    """Return measures as moments: never before they were recorded, to the end of their last day or until ended."""
    measures = []
    for event, ended_at in events:
        if event.kind != kind:
            continue
        start = datetime.combine(event.from_day, time.min, act.zone)
        end = datetime.combine(event.until_day + timedelta(days=1), time.min, act.zone) if event.until_day else None
        ends = [one for one in (end, ended_at) if one is not None]
        measures.append(
            Measure(
                from_at=max(start, event.recorded_at),
                until_at=min(ends) if ends else None,
                competency=event.competency,
                reason=event.reason,
            )
        )
    return measures


def _is_leave(event: Event) -> bool:
    return event[0].kind == StandingEventKind.PAUSED


def _pauses(act: Act, events: Iterable[Event], returns: Mapping[str, datetime]) -> list[Pause]:
    """Return leaves; the day on which one was ended early is the first day back."""
    pauses = []
    for event, ended_at in events:
        if event.kind != StandingEventKind.PAUSED:
            continue
        until_day = event.until_day
        if ended_at is not None:
            until_day = local_day(ended_at, act.zone) - timedelta(days=1)
        completed_at = returns.get(event.id)
        pauses.append(
            Pause(
                from_day=event.from_day,
                until_day=until_day,
                return_completed_on=None if completed_at is None else local_day(completed_at, act.zone),
            )
        )
    return [one for one in pauses if one.until_day is None or one.until_day >= one.from_day]


def _restrictions(events: Iterable[Event], endings: Sequence[datetime]) -> list[Restriction]:
    """Return restrictions of the whole person; one that was ended, or from before a departure, is over."""
    return [
        Restriction(conditions=event.reason, from_day=event.from_day, until_day=event.until_day)
        for event, ended_at in events
        if event.kind == StandingEventKind.RESTRICTED and event.until_day is not None and ended_at is None
        if all(event.recorded_at > ending for ending in endings)
    ]


def _endings(act: Act, people: Sequence[Person], at: datetime) -> dict[str, list[datetime]]:
    """Return when people left, as recorded by that minute, and when their engagements end."""
    found: dict[str, list[datetime]] = defaultdict(list)
    rows = select(Departure.person_id, Departure.recorded_at).where(
        Departure.person_id.in_([person.id for person in people]), Departure.recorded_at <= at
    )
    for person_id, recorded_at in act.session.execute(rows):
        found[person_id].append(recorded_at)
    for person in people:
        if person.engaged_until is not None:
            found[person.id].append(datetime.combine(person.engaged_until + timedelta(days=1), time.min, act.zone))
    return found


def _returns(act: Act, person_ids: list[str], at: datetime) -> dict[str, datetime]:
    """Return from when the return from each leave of people who had leave is complete, as recorded by that minute."""
    if not person_ids:
        return {}
    rows = select(LeaveReturn.event_id, LeaveReturn.recorded_at).where(
        LeaveReturn.person_id.in_(person_ids), LeaveReturn.recorded_at <= at
    )
    return dict(iter(act.session.execute(rows)))
