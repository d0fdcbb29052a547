"""The ways out of a shift with nobody current, in their order: with names, what they take, and who could say yes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import or_, select

from quizapp.assessment.dates import local_day
from quizapp.assessment.roles import Role
from quizapp.assessment.shift_answers import REST, rest_between
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standard import Requirement
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.answer_shift import MAY_ANSWER_FOR_IT
from quizapp.services.base_readiness import clinicians_of
from quizapp.services.shift_covers import MemberSeen, ShiftSeen
from quizapp.services.standards import standard_on
from quizapp.services.standings_ahead import StandingsAhead, standings_ahead
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from quizapp.store.shifts import CrewShift, ShiftMember

MINUTES_A_PROCEDURE = 12
NEAR = timedelta(days=2)


@dataclass(frozen=True, kw_only=True)
class Substitute:
    """Somebody current for the whole shift who is free then; `rest` is the shortest time off before or after it."""

    person_id: str
    name: str
    rest: timedelta | None

    @property
    def is_rested(self) -> bool:
        """Whether there are at least eleven hours off on both sides."""
        return self.rest is None or self.rest >= REST


@dataclass(frozen=True, kw_only=True)
class MemberNeeds:
    """A member who is not current on the shift, and what would have to be shown before it ("" when nothing can)."""

    person_id: str
    name: str
    competencies: tuple[str, ...]
    procedures: tuple[str, ...]
    why_not: str

    @property
    def minutes(self) -> int:
        """About how long an assessor has to watch."""
        return len(self.procedures) * MINUTES_A_PROCEDURE


@dataclass(frozen=True, kw_only=True)
class AssessorNear:
    """An assessor for the base who is current; the last shift they are on before this one, if any."""

    person_id: str
    name: str
    last_on: datetime | None


@dataclass(frozen=True, kw_only=True)
class Ways:
    """Everything the page of a shift offers, in the order to try it."""

    substitutes: tuple[Substitute, ...]
    needs: tuple[MemberNeeds, ...]
    assessors: tuple[AssessorNear, ...]
    authorities: tuple[tuple[str, str], ...]


def ways_out(act: Act, library: Library, shift: ShiftSeen) -> Ways:
    """Return the ways out of a shift, with a constant number of statements."""
    holders = _role_holders(act, shift.base.id)
    people = {one.id: one for one in clinicians_of(act, shift.base.id)}
    on_crew = [one.person_id for one in shift.members]
    assessors = [person for person, role in holders if role is Role.ASSESSOR]
    everybody = people | {one.id: one for one in assessors} | _people(act, set(on_crew) - set(people))
    ahead = standings_ahead(act, library, list(everybody.values()), [shift.base.id])
    near = _near_shifts(act, shift, everybody)
    return Ways(
        substitutes=_substitutes([one for one in people.values() if one.id not in on_crew], shift, ahead, near),
        needs=_needs(act, shift, ahead),
        assessors=_assessors(act, assessors, shift, ahead, near),
        authorities=_authorities(holders),
    )


def _substitutes(
    people: Sequence[Person], shift: ShiftSeen, ahead: StandingsAhead, near: Mapping[str, Sequence[Span]]
) -> tuple[Substitute, ...]:
    """Return who is current for the whole shift and on no other crew then; the rested ones first, by name."""
    found = []
    for person in people:
        rests = [rest_between(shift.span, other) for other in near.get(person.id, ())]
        is_free = all(rest is not None for rest in rests)
        if is_free and ahead.spells(person.id, shift.base.id, shift.span) == (shift.span,):
            shortest = min((rest for rest in rests if rest is not None), default=None)
            found.append(Substitute(person_id=person.id, name=person.name, rest=shortest))
    return tuple(sorted(found, key=lambda one: (not one.is_rested, one.name, one.person_id)))


def _needs(act: Act, shift: ShiftSeen, ahead: StandingsAhead) -> tuple[MemberNeeds, ...]:
    day = local_day(shift.span.end - timedelta(minutes=1), act.zone)
    standard = standard_on(act.session, day)
    asked = {one.competency: one for one in standard.requirements} if standard else {}
    return tuple(_member_needs(act, member, shift, ahead, asked) for member in shift.members if not member.is_current)


def _member_needs(
    act: Act, member: MemberSeen, shift: ShiftSeen, ahead: StandingsAhead, asked: Mapping[str, Requirement]
) -> MemberNeeds:
    day = local_day(shift.span.end - timedelta(minutes=1), act.zone)
    report = ahead.report(member.person_id, shift.base.id, act, on=day)
    open_ones = list(dict.fromkeys(row.competency for row in report.rows if not row.standing.is_in_date))
    procedures = dict.fromkeys(procedure for code in open_ones if code in asked for procedure in asked[code].procedures)
    sitting = [code for code in open_ones if code in asked and asked[code].needs_knowledge]
    why_not = "" if open_ones else report.sentence
    if sitting:
        why_not = f"a sitting is needed as well, for {', '.join(sitting)}"
    return MemberNeeds(
        person_id=member.person_id,
        name=member.name,
        competencies=tuple(open_ones),
        procedures=tuple(procedures),
        why_not=why_not,
    )


def _assessors(
    act: Act, people: Sequence[Person], shift: ShiftSeen, ahead: StandingsAhead, near: Mapping[str, Sequence[Span]]
) -> tuple[AssessorNear, ...]:
    """Return the assessors who are current now, those who are on base before the shift first."""
    found = [
        AssessorNear(
            person_id=one.id,
            name=one.name,
            last_on=max((span.start for span in near.get(one.id, ()) if span.start < shift.span.start), default=None),
        )
        for one in people
        if ahead.report(one.id, shift.base.id, act).standing.is_in_date
    ]
    return tuple(sorted(found, key=lambda one: (one.last_on is None, one.name, one.person_id)))


def _authorities(holders: Sequence[tuple[Person, Role]]) -> tuple[tuple[str, str], ...]:
    """Return who can answer for a restriction or an acceptance, with their post, the clinical lead first."""
    found: dict[str, str] = {}
    for role in MAY_ANSWER_FOR_IT:
        for person, held in holders:
            if held is role:
                found.setdefault(person.id, f"{person.name}, {role.words}")
    return tuple(found.items())


def _role_holders(act: Act, base_id: str) -> list[tuple[Person, Role]]:
    rows = act.session.execute(
        select(Person, RoleGrant.role)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(Person.left_on.is_(None), RoleGrant.ended_at.is_(None))
        .where(RoleGrant.role.in_([role.value for role in (Role.ASSESSOR, *MAY_ANSWER_FOR_IT)]))
        .where(RoleGrant.from_day <= act.today, or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today))
        .where(or_(RoleGrant.base_id.is_(None), RoleGrant.base_id == base_id))
        .order_by(Person.name, Person.id)
        .distinct()
    )
    return [(person, Role(role)) for person, role in rows]


def _people(act: Act, person_ids: Collection[str]) -> dict[str, Person]:
    return {one.id: one for one in act.session.scalars(select(Person).where(Person.id.in_(person_ids)))}


def _near_shifts(act: Act, shift: ShiftSeen, person_ids: Collection[str]) -> dict[str, list[Span]]:
    """Return the shifts of people around this one, this one left out."""
    rows = act.session.execute(
        select(ShiftMember.person_id, ShiftMember.from_at, ShiftMember.until_at)
        .join(CrewShift, CrewShift.id == ShiftMember.shift_id)
        .where(ShiftMember.person_id.in_(person_ids), CrewShift.removed_at.is_(None), CrewShift.id != shift.id)
        .where(ShiftMember.until_at > shift.span.start - NEAR, ShiftMember.from_at < shift.span.end + NEAR)
    )
    found: dict[str, list[Span]] = defaultdict(list)
    for person_id, start, end in rows:
        found[person_id].append(Span(start, end))
    return found
