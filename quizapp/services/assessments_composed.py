"""The assessments of the service, with how many people have each, and one of them in full."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role, bases_for
from quizapp.errors import NotFound
from quizapp.psychometrics.binomial_form import FormChances, form_chances
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.store.assessments import Assessment, AssessmentPart, Assignment
from quizapp.store.people import Person, RescueBase
from quizapp.store.sittings import Sitting


@dataclass(frozen=True, kw_only=True)
class AssessmentRow:
    """One assessment in a list."""

    assessment: Assessment
    question_count: int
    assigned: int
    submitted: int


@dataclass(frozen=True, kw_only=True)
class AssignedPerson:
    """One person an assessment was given to, and how far they are."""

    name: str
    base: str
    assignment: Assignment
    state: str


@dataclass(frozen=True, kw_only=True)
class AssessmentInFull:
    """One assessment with its parts, its exact chances, and the people who have it."""

    assessment: Assessment
    parts: list[AssessmentPart]
    question_count: int
    chances: FormChances
    people: list[AssignedPerson]


@dataclass(frozen=True, kw_only=True)
class Assignable:
    """Whom the actor may assign to: bases, and clinicians at them."""

    bases: list[RescueBase]
    people: list[Person]


def assessments_composed(act: Act) -> list[AssessmentRow]:
    """Return all assessments, newest first, with a constant number of statements."""
    require_right(act, Right.COMPOSE_ASSESSMENT)
    questions = _counts(act, AssessmentPart.assessment_id, func.sum(AssessmentPart.question_count))
    assigned = _counts(act, Assignment.assessment_id, func.count())
    submitted = _counts(act, Sitting.assessment_id, func.count(Sitting.submitted_at))
    rows = act.session.scalars(select(Assessment).order_by(Assessment.composed_at.desc(), Assessment.id))
    return [
        AssessmentRow(
            assessment=row,
            question_count=questions.get(row.id, 0),
            assigned=assigned.get(row.id, 0),
            submitted=submitted.get(row.id, 0),
        )
        for row in rows
    ]


def _counts(act: Act, column: object, count: object) -> dict[str, int]:
    rows = act.session.execute(select(column, count).group_by(column))  # type: ignore[call-overload]
    return {key: int(number) for key, number in rows}


def assessment_in_full(act: Act, assessment_id: str) -> AssessmentInFull:
    """Return one assessment; raises NotFound."""
    require_right(act, Right.COMPOSE_ASSESSMENT)
    assessment = act.session.get(Assessment, assessment_id)
    if assessment is None:
        raise NotFound("There is no such assessment.")
    parts = list(
        act.session.scalars(
            select(AssessmentPart)
            .where(AssessmentPart.assessment_id == assessment_id)
            .order_by(func.length(AssessmentPart.competency), AssessmentPart.competency)
        )
    )
    questions = sum(part.question_count for part in parts)
    return AssessmentInFull(
        assessment=assessment,
        parts=parts,
        question_count=questions,
        chances=form_chances(questions, assessment.cut),
        people=_people(act, assessment_id),
    )


def _people(act: Act, assessment_id: str) -> list[AssignedPerson]:
    rows = act.session.execute(
        select(Person.name, RescueBase.name, Assignment, Sitting.started_at, Sitting.submitted_at)
        .join(Assignment, Assignment.person_id == Person.id)
        .join(RescueBase, RescueBase.id == Assignment.base_id)
        .outerjoin(
            Sitting, (Sitting.assessment_id == Assignment.assessment_id) & (Sitting.person_id == Assignment.person_id)
        )
        .where(Assignment.assessment_id == assessment_id)
        .order_by(RescueBase.name, Person.name)
    )
    return [
        AssignedPerson(
            name=name,
            base=base,
            assignment=assignment,
            state="handed in" if submitted_at else "begun" if started_at else "not begun",
        )
        for name, base, assignment, started_at, submitted_at in rows
    ]


def assignable(act: Act) -> Assignable:
    """Return the bases, and the people at them, to whom the actor may assign."""
    require_right(act, Right.ASSIGN_ASSESSMENT)
    bases = [
        base
        for base in act.session.scalars(select(RescueBase).order_by(RescueBase.name))
        if has_right(act.actor, Right.ASSIGN_ASSESSMENT, act.today, base.id)
    ]
    people = act.session.scalars(
        select(Person)
        .where(Person.base_id.in_([base.id for base in bases]), Person.left_on.is_(None))
        .order_by(Person.name, Person.id)
    )
    return Assignable(bases=bases, people=list(people))


def reaches_everybody(act: Act) -> bool:
    """Whether the actor is an educator of the whole service."""
    return bases_for(act.actor.roles_held, Role.EDUCATOR, act.today).whole_service
