"""Who holds which role, and which proposals wait for a second administrator."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import aliased

from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.people_list import bases, place_words
from quizapp.services.require_right import require_right
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant, RoleProposal


@dataclass(frozen=True, kw_only=True)
class RoleLine:
    """A role that somebody holds or was proposed for; `first` proposed it, `second` confirmed it."""

    id: str
    person_id: str
    name: str
    staff_number: str
    role: Role
    place: str
    from_day: date
    until_day: date | None
    recognised: bool
    reason: str
    first_id: str
    first: str
    second: str
    since: datetime


def roles_in_force(act: Act) -> tuple[RoleLine, ...]:
    """Return every role held now or later but a clinician's, by role and name; two statements."""
    require_right(act, Right.MANAGE_ROLES)
    return _grants(act, RoleGrant.role != Role.CLINICIAN.value)


def roles_of_person(act: Act, person_id: str) -> tuple[RoleLine, ...]:
    """Return every role one person holds now or later."""
    require_right(act, Right.MANAGE_ROLES)
    return _grants(act, RoleGrant.person_id == person_id)


def role_in_force(act: Act, grant_id: str) -> RoleLine:
    """Return one role that has not ended; raise NotFound where there is none."""
    require_right(act, Right.MANAGE_ROLES)
    found = _grants(act, RoleGrant.id == grant_id)
    if not found:
        raise NotFound("There is no such role.")
    return found[0]


def _grants(act: Act, condition: ColumnElement[bool]) -> tuple[RoleLine, ...]:
    first, second = aliased(Person), aliased(Person)
    rows = act.session.execute(
        select(RoleGrant, Person, first.name, second.name)
        .join(Person, Person.id == RoleGrant.person_id)
        .outerjoin(first, first.id == RoleGrant.granted_by)
        .outerjoin(second, second.id == RoleGrant.second_by)
        .where(
            condition,
            RoleGrant.ended_on.is_(None),
            or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today),
        )
        .order_by(Person.name, RoleGrant.from_day)
    ).all()
    names = {base.id: base.name for base in bases(act)}
    lines = [
        RoleLine(
            id=grant.id,
            person_id=person.id,
            name=person.name,
            staff_number=person.staff_number,
            role=Role(grant.role),
            place=place_words(grant.base_id, names),
            from_day=grant.from_day,
            until_day=grant.until_day,
            recognised=grant.recognised,
            reason=grant.reason,
            first_id=grant.granted_by or "",
            first=by or "the founding",
            second=also_by or "",
            since=grant.granted_at,
        )
        for grant, person, by, also_by in rows
    ]
    order = list(Role)
    return tuple(sorted(lines, key=lambda line: order.index(line.role)))


def proposals_waiting(act: Act) -> tuple[RoleLine, ...]:
    """Return every proposal that nobody settled yet, oldest first; two statements."""
    require_right(act, Right.MANAGE_ROLES)
    first = aliased(Person)
    rows = act.session.execute(
        select(RoleProposal, Person, first.name)
        .join(Person, Person.id == RoleProposal.person_id)
        .join(first, first.id == RoleProposal.proposed_by)
        .where(RoleProposal.settled_at.is_(None))
        .order_by(RoleProposal.proposed_at, RoleProposal.id)
    ).all()
    names = {base.id: base.name for base in bases(act)}
    return tuple(
        RoleLine(
            id=one.id,
            person_id=person.id,
            name=person.name,
            staff_number=person.staff_number,
            role=Role(one.role),
            place=place_words(one.base_id, names),
            from_day=one.from_day,
            until_day=one.until_day,
            recognised=one.recognised,
            reason=one.reason,
            first_id=one.proposed_by,
            first=by,
            second="",
            since=one.proposed_at,
        )
        for one, person, by in rows
    )


def proposal_waiting(act: Act, proposal_id: str) -> RoleLine:
    """Return one proposal that nobody settled yet; raise NotFound where there is none."""
    for line in proposals_waiting(act):
        if line.id == proposal_id:
            return line
    raise NotFound("There is no such proposal, or it was settled already.")
