"""Whom an educator may decide on, and one person's evidence against what the standard requires."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import CompetencyReadiness, EvidenceOutcome, Requirement, readiness_to_decide
from quizapp.assessment.standing import CompetencyStanding, ProfileRevision, StandingReport
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.evidence_of import evidence_items, evidence_rows
from quizapp.services.person_standing import PersonStands, standings
from quizapp.services.require_right import require_right
from quizapp.services.standards import StandardInForce, standard_on
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant

NEEDS_A_LOOK = {
    CompetencyStanding.NOT_YET_SIGNED_OFF,
    CompetencyStanding.LAPSING,
    CompetencyStanding.LAPSED,
}


@dataclass(frozen=True, kw_only=True)
class Desk:
    """One person before the educator: how they stand, and for each competency what is there and what is missing."""

    person: Person
    base: RescueBase
    report: StandingReport
    profile: ProfileRevision | None
    standard: StandardInForce | None
    readiness: tuple[CompetencyReadiness, ...]
    evidence: dict[str, Evidence]
    decisions: list[Decision]

    @property
    def open_rows(self) -> list[CompetencyReadiness]:
        """The competencies that are not signed off, lapsing or lapsed."""
        return [one for one in self.readiness if self.report.of_competency(one.competency) in NEEDS_A_LOOK]

    @property
    def ready(self) -> list[str]:
        """The open competencies that may be signed off now."""
        return [one.competency for one in self.open_rows if one.may_sign_off]

    @property
    def missing_count(self) -> int:
        """How many parts of the open competencies are missing."""
        return sum(not part.is_present for one in self.open_rows for part in one.parts)


def waiting(act: Act, library: Library) -> list[Desk]:
    """Return the clinicians at the actor's bases with an open competency and evidence, most complete first."""
    require_right(act, Right.DECIDE)
    people = [one for one in _clinicians(act) if one.id != act.actor.person_id]
    desks = desks_of(act, library, people)
    open_desks = [desk for desk in desks if desk.open_rows and any(_has_something(desk, one) for one in desk.open_rows)]
    return sorted(open_desks, key=lambda desk: (desk.missing_count, -len(desk.ready), desk.person.name, desk.person.id))


def _has_something(desk: Desk, one: CompetencyReadiness) -> bool:
    """Whether something fresh speaks for the competency, or against it since it was last decided."""
    if any(part.is_present for part in one.parts):
        return True
    decided = [row.decided_at for row in desk.decisions if row.competency == one.competency and row.voided_at is None]
    return any(
        row.competency == one.competency
        and row.outcome == EvidenceOutcome.NOT_SHOWN
        and (not decided or row.recorded_at > max(decided))
        for row in desk.evidence.values()
    )


def desk(act: Act, library: Library, person_id: str) -> Desk:
    """Return one person's desk; raises NotFound outside the actor's bases and for the actor."""
    require_right(act, Right.DECIDE)
    person = act.session.get(Person, person_id)
    if person is None or person.id == act.actor.person_id or person.left_on is not None:
        raise NotFound("There is nobody here for you to decide on.")
    if not has_right(act.actor, Right.DECIDE, act.today, person.base_id):
        raise NotFound("There is nobody here for you to decide on.")
    return desks_of(act, library, [person])[0]


def _clinicians(act: Act) -> list[Person]:
    rows = act.session.scalars(
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_at.is_(None), Person.left_on.is_(None))
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .distinct()
    )
    return [person for person in rows if has_right(act.actor, Right.DECIDE, act.today, person.base_id)]


def desks_of(act: Act, library: Library, people: Sequence[Person]) -> list[Desk]:
    """Return the desks of people with a constant number of statements."""
    ids = [person.id for person in people]
    stands = standings(act, library, people)
    bases = {base.id: base for base in act.session.scalars(select(RescueBase))}
    in_service = revisions_in_service(act, list(bases))
    standard = standard_on(act.session, act.today)
    rows = evidence_rows(act, ids)
    decisions: dict[str, list[Decision]] = defaultdict(list)
    for decision in act.session.scalars(select(Decision).where(Decision.person_id.in_(ids))):
        decisions[decision.person_id].append(decision)
    return [
        _desk(act, stands[person.id], bases[person.base_id], in_service[person.base_id], standard,
              rows[person.id], decisions[person.id])
        for person in people
    ]  # fmt: skip


def _desk(
    act: Act,
    stands: PersonStands,
    base: RescueBase,
    in_service: Sequence[tuple[str, int]],
    standard: StandardInForce | None,
    rows: list[Evidence],
    decisions: list[Decision],
) -> Desk:
    profile = ProfileRevision(code=in_service[-1][0], revision=in_service[-1][1]) if in_service else None
    readiness: tuple[CompetencyReadiness, ...] = ()
    if profile is not None and standard is not None:
        items = evidence_items(act, rows, decisions)
        readiness = readiness_to_decide(requirements_of(standard), items, profile, act.today)
    return Desk(
        person=stands.person,
        base=base,
        report=stands.report,
        profile=profile,
        standard=standard,
        readiness=readiness,
        evidence={row.id: row for row in rows},
        decisions=decisions,
    )


def requirements_of(standard: StandardInForce) -> list[Requirement]:
    """Return what a standard asks for, as the rules read it."""
    return [
        Requirement(
            competency=one.competency,
            is_critical=one.is_critical,
            needs_knowledge=one.needs_knowledge,
            procedures=one.procedures,
            validity_months=one.validity_months,
        )
        for one in standard.requirements
    ]
