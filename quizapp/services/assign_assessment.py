"""An assessment is given to people, to a base, or to everybody; given twice it is given once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.assessments import Assessment, Assignment
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant


@dataclass(frozen=True, kw_only=True)
class Assigned:
    """How many people were given the assessment now, and how many had it already."""

    new: int
    already: int


def assign_assessment(
    act: Act,
    assessment_id: str,
    *,
    person_ids: Sequence[str] = (),
    base_ids: Sequence[str] = (),
    everybody: bool = False,
    due_on: date | None = None,
) -> Assigned:
    """Give an assessment to clinicians at bases where the actor may assign.

    Raises BadInput when nobody is named or the day is past, Conflict for a closed assessment, NotFound otherwise.
    """
    require_right(act, Right.ASSIGN_ASSESSMENT)
    assessment = act.session.get(Assessment, assessment_id)
    if assessment is None:
        raise NotFound("There is no such assessment.")
    if assessment.closed_at is not None:
        raise Conflict("This assessment is closed. Nothing was assigned; compose a new one.")
    if due_on is not None and due_on < act.today:
        raise BadInput("That day is past. Choose today or a later day.", field="due_on")
    people = _people(act, person_ids=person_ids, base_ids=base_ids, everybody=everybody)
    if not people:
        field = "to" if everybody else "bases" if base_ids else "people"
        raise BadInput("Nobody was chosen, or nobody there is a clinician you may assign to.", field=field)
    had = set(act.session.scalars(select(Assignment.person_id).where(Assignment.assessment_id == assessment_id)))
    new = [person for person in people if person.id not in had]
    for person in new:
        _assign(act, assessment_id, person, due_on)
    return Assigned(new=len(new), already=len(people) - len(new))


def _people(act: Act, *, person_ids: Sequence[str], base_ids: Sequence[str], everybody: bool) -> list[Person]:
    clinicians = (
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_at.is_(None), Person.left_on.is_(None))
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .distinct()
    )
    if not everybody:
        clinicians = clinicians.where(Person.id.in_(person_ids) | Person.base_id.in_(base_ids))
    found = act.session.scalars(clinicians.order_by(Person.name, Person.id))
    return [one for one in found if has_right(act.actor, Right.ASSIGN_ASSESSMENT, act.today, one.base_id)]


def _assign(act: Act, assessment_id: str, person: Person, due_on: date | None) -> None:
    assignment = Assignment(
        id=act.randomness.new_id(),
        assessment_id=assessment_id,
        person_id=person.id,
        base_id=person.base_id,
        due_on=due_on,
        assigned_by=act.actor.person_id,
        assigned_at=act.now,
    )
    act.session.add(assignment)
    record(act, AuditEvent.ASSESSMENT_ASSIGNED, "assignment", assignment.id, person_id=person.id, thing=assessment_id)
