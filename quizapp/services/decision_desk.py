"""Whom an educator may decide on, and one person's evidence against what the standard requires."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.sign_off import (
    CompetencyReadiness,
    EvidenceItem,
    EvidenceOutcome,
    Requirement,
    readiness_to_decide,
)
from quizapp.assessment.standing import CompetencyStanding, InService, ProfileRevision, StandingReport, standing
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.clinicians import clinicians
from quizapp.services.devices_in_service import revisions_coming, revisions_in_service
from quizapp.services.evidence_of import evidence_items, evidence_rows
from quizapp.services.forms_behind import Form, forms_behind, with_forms
from quizapp.services.person_standing import PersonStands, standings
from quizapp.services.require_right import require_right
from quizapp.services.standards import StandardInForce, standard_on
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person, RescueBase

NEEDS_A_LOOK = {
    CompetencyStanding.NOT_YET_SIGNED_OFF,
    CompetencyStanding.LAPSING,
    CompetencyStanding.LAPSED,
}


@dataclass(frozen=True, kw_only=True)
class Desk:
    """One person before the educator on one device revision: how they stand, what is there, what is missing.

    `report` is how the person stands altogether, `on_profile` how they stand on this revision alone. `profiles` are
    the revisions that may be decided on: those in the packs of the base, then those that come into them later.
    """

    person: Person
    base: RescueBase
    report: StandingReport
    on_profile: StandingReport
    profile: ProfileRevision | None
    profiles: tuple[ProfileRevision, ...]
    standard: StandardInForce | None
    readiness: tuple[CompetencyReadiness, ...]
    evidence: dict[str, Evidence]
    decisions: list[Decision]

    @property
    def open_rows(self) -> list[CompetencyReadiness]:
        """The competencies that are not signed off, lapsing or lapsed on this revision."""
        return [one for one in self.readiness if self.on_profile.of_competency(one.competency) in NEEDS_A_LOOK]

    @property
    def ready(self) -> list[str]:
        """The open competencies that may be signed off now."""
        return [one.competency for one in self.open_rows if one.may_sign_off]

    @property
    def missing_count(self) -> int:
        """How many parts of the open competencies are missing."""
        return sum(not part.is_present for one in self.open_rows for part in one.parts)


def waiting(act: Act, library: Library) -> list[Desk]:
    """Return who waits at the actor's bases: an open competency and evidence on it, a desk a device revision.

    Most complete first.
    """
    require_right(act, Right.DECIDE)
    people = [
        one
        for one in clinicians(act)
        if one.id != act.actor.person_id and has_right(act.actor, Right.DECIDE, act.today, one.base_id)
    ]
    desks = [desk for several in desks_of(act, library, people) for desk in several]
    open_desks = [desk for desk in desks if any(_has_something(desk, one) for one in desk.open_rows)]
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
        and _is_on(row, desk.profile)
        for row in desk.evidence.values()
    )


def _is_on(row: Evidence, profile: ProfileRevision | None) -> bool:
    return profile is not None and (row.profile_code, row.profile_revision) == (profile.code, profile.revision)


def desk(act: Act, library: Library, person_id: str, *, profile: ProfileRevision | None = None) -> Desk:
    """Return one person's desk; raises NotFound outside the actor's bases and for the actor.

    profile: the revision to decide on (default: the newest of those in the packs).
    """
    require_right(act, Right.DECIDE)
    person = act.session.get(Person, person_id)
    if person is None or person.id == act.actor.person_id or person.left_on is not None:
        raise NotFound("There is nobody here for you to decide on.")
    if not has_right(act.actor, Right.DECIDE, act.today, person.base_id):
        raise NotFound("There is nobody here for you to decide on.")
    desks = desks_of(act, library, [person])[0]
    found = desks[0] if profile is None else next((one for one in desks if one.profile == profile), None)
    if found is None:
        raise NotFound("This device revision is neither in the packs of the base nor coming into them.")
    return found


@dataclass(frozen=True, kw_only=True)
class _Known:
    """What the desks of many people are made of."""

    stands: dict[str, PersonStands]
    bases: dict[str, RescueBase]
    in_service: dict[str, tuple[tuple[str, int], ...]]
    coming: dict[str, tuple[tuple[str, int], ...]]
    standard: StandardInForce | None
    evidence: dict[str, list[Evidence]]
    decisions: dict[str, list[Decision]]
    forms: dict[str, Form]


def desks_of(act: Act, library: Library, people: Sequence[Person]) -> list[list[Desk]]:
    """Return for each person a desk for each revision, the newest in the packs first, with as many statements for many.

    A base without any revision gives one desk without a profile.
    """
    known = _known(act, library, people)
    return [_desks_of_one(act, known, person) for person in people]


def _known(act: Act, library: Library, people: Sequence[Person]) -> _Known:
    ids = [person.id for person in people]
    bases = {base.id: base for base in act.session.scalars(select(RescueBase))}
    standard = standard_on(act.session, act.today)
    evidence = evidence_rows(act, ids)
    decisions: dict[str, list[Decision]] = defaultdict(list)
    for decision in act.session.scalars(select(Decision).where(Decision.person_id.in_(ids))):
        decisions[decision.person_id].append(decision)
    has_form_rule = standard is not None and standard.form_questions > 0
    return _Known(
        stands=standings(act, library, people),
        bases=bases,
        in_service=revisions_in_service(act, list(bases)),
        coming=revisions_coming(act, list(bases)),
        standard=standard,
        evidence=evidence,
        decisions=decisions,
        forms=forms_behind(act, (row for rows in evidence.values() for row in rows)) if has_form_rule else {},
    )


def _desks_of_one(act: Act, known: _Known, person: Person) -> list[Desk]:
    pairs = (*reversed(known.in_service[person.base_id]), *known.coming[person.base_id])
    profiles = tuple(ProfileRevision(code=code, revision=revision) for code, revision in pairs)
    read = evidence_items(act, known.evidence[person.id], known.decisions[person.id])
    items = with_forms(read, known.forms)
    return [_desk(act, known, person, items, profiles, profile) for profile in profiles or (None,)]


def _desk(
    act: Act,
    known: _Known,
    person: Person,
    items: Sequence[EvidenceItem],
    profiles: tuple[ProfileRevision, ...],
    profile: ProfileRevision | None,
) -> Desk:
    stands, standard = known.stands[person.id], known.standard
    readiness: tuple[CompetencyReadiness, ...] = ()
    if profile is not None and standard is not None:
        readiness = readiness_to_decide(requirements_of(standard), items, profile, act.today)
    alone = tuple(InService(profile=one, from_day=act.today) for one in ([profile] if profile else []))
    return Desk(
        person=person,
        base=known.bases[person.base_id],
        report=stands.report,
        on_profile=standing(replace(stands.record, in_service=alone), act.now, act.zone),
        profile=profile,
        profiles=profiles,
        standard=standard,
        readiness=readiness,
        evidence={row.id: row for row in known.evidence[person.id]},
        decisions=known.decisions[person.id],
    )


def requirements_of(standard: StandardInForce) -> list[Requirement]:
    """Return what a standard asks for, as the rules read it."""
    return [
        Requirement(
            competency=one.competency,
            is_critical=one.is_critical,
            needs_knowledge=one.needs_knowledge,
            procedures=one.procedures,
            needs_discussion=one.needs_discussion,
            minimum_questions=one.minimum_questions,
            validity_months=one.evidence_holds_months,
            observed_here=frozenset(one.observed_here),
            minimum_assessors=one.minimum_assessors,
            form_questions=standard.form_questions,
            form_cut=standard.form_cut,
        )
        for one in standard.requirements
    ]
