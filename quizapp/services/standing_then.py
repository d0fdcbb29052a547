"""How one person stood at a minute gone by, on which revision, with the evidence and decisions as known then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import aliased

from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Denied, PersonView
from quizapp.assessment.record_looks import LONGEST_PURPOSE, SHORTEST_PURPOSE, LookKind, may_ask_standing
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import EvidenceKind
from quizapp.assessment.standing import Outcome, ProfileRevision, StandingReport
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotFound
from quizapp.services.act import Act
from quizapp.services.person_standing import bases_at, standing_of
from quizapp.services.record_looks import write_look
from quizapp.services.require_right import require_right
from quizapp.services.standards import standard_on
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person, RescueBase
from quizapp.store.record_looks import RecordLook
from quizapp.store.roles import RoleGrant

ANSWER_STAYS = timedelta(hours=12)
MOST_CHOICES = 1000


@dataclass(frozen=True, kw_only=True)
class EvidenceThen:
    """One piece of evidence as it was known then; `summary` only for those who may read it."""

    competency: str
    kind: EvidenceKind
    outcome: str
    summary: str
    happened_at: datetime
    recorded_at: datetime
    by: str
    device: str
    counts: bool


@dataclass(frozen=True, kw_only=True)
class DecisionThen:
    """One decision as it was known then; `reason` only for those who may read it."""

    reference: str
    competency: str
    outcome: str
    origin: str
    last_valid_day: str
    device: str
    by: str
    decided_at: datetime
    conditions: str
    reason: str
    is_void: bool
    carries_the_standing: bool


@dataclass(frozen=True, kw_only=True)
class StandingThen:
    """The answer to one question about one person and one minute."""

    look_id: str
    person: Person
    base_name: str
    at: datetime
    purpose: str
    report: StandingReport
    revisions: tuple[ProfileRevision, ...]
    standard_name: str
    evidence: tuple[EvidenceThen, ...]
    decisions: tuple[DecisionThen, ...]


@dataclass(frozen=True, kw_only=True)
class PersonToAsk:
    """Somebody the actor may ask about."""

    person_id: str
    name: str
    staff_number: str
    base_name: str


def people_to_ask(act: Act) -> list[PersonToAsk]:
    """Return everybody who belongs or once belonged to a base the actor answers for, by name; never the actor."""
    require_right(act, Right.SEE_READINESS)
    rows = act.session.scalars(select(RescueBase))
    mine = [base.id for base in rows if has_right(act.actor, Right.SEE_READINESS, act.today, base.id)]
    once = select(RoleGrant.person_id).where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.base_id.in_(mine))
    found = act.session.execute(
        select(Person, RescueBase.name)
        .join(RescueBase, RescueBase.id == Person.base_id)
        .where(or_(Person.base_id.in_(mine), Person.id.in_(once)), Person.id != act.actor.person_id)
        .order_by(Person.name, Person.id)
        .limit(MOST_CHOICES)
    )
    return [
        PersonToAsk(person_id=person.id, name=person.name, staff_number=person.staff_number, base_name=name)
        for person, name in found
    ]


def ask_standing(act: Act, *, person_id: str, at: datetime, purpose: str) -> str:
    """Ask how somebody stood at a minute, for a stated purpose; the question is written down and its id returned.

    Raises NotFound for whom the actor does not answer, BadInput for a minute to come or a purpose too short.
    """
    person = act.session.get(Person, person_id)
    view = _view(act, person, at)
    if person is None or view in {None, PersonView.OWN}:
        raise NotFound("There is nobody here whose standing you may ask for.")
    if at > act.now:
        raise BadInput("That minute is still to come. Ask for one gone by.", field="time")
    words = " ".join(purpose.split())
    if not SHORTEST_PURPOSE <= len(words) <= LONGEST_PURPOSE:
        raise BadInput(
            f"Say for what, in {SHORTEST_PURPOSE} to {LONGEST_PURPOSE} characters. The person reads it.",
            field="purpose",
        )
    return write_look(act, person_id, LookKind.STANDING_THEN, purpose=words, asked_about=at)


def _view(act: Act, person: Person | None, at: datetime) -> PersonView | None:
    if person is None:
        return None
    base_then = bases_at(act, [person], at)[person.id]
    verdict = may_ask_standing(
        act.actor, person_id=person.id, base_then=base_then, base_now=person.base_id, day=act.today
    )
    return None if isinstance(verdict, Denied) else verdict.view


def standing_then(act: Act, library: Library, look_id: str) -> StandingThen:
    """Return the answer to a question the actor asked within the last twelve hours; raises NotFound for any other."""
    look = act.session.get(RecordLook, look_id)
    if look is None or look.looked_by != act.actor.person_id or look.asked_about is None:
        raise NotFound("There is no such question of yours.")
    person, at = act.session.get_one(Person, look.person_id), look.asked_about
    view = _view(act, person, at)
    if view is None or act.now - look.looked_at > ANSWER_STAYS:
        raise NotFound("This answer was for twelve hours. Ask again, and say for what.")
    stands = standing_of(act, library, person.id, at=at)
    standard = standard_on(act.session, at.astimezone(act.zone).date(), known_at=at)
    rests_on = {row.decision_reference for row in stands.report.rows}
    evidence, decisions = evidence_known_at(act, person.id, at), _decisions_known_at(act, person.id, at)
    names = _names(act, evidence, decisions)
    reads = view is PersonView.TEACHING
    return StandingThen(
        look_id=look.id,
        person=person,
        base_name=act.session.get_one(RescueBase, bases_at(act, [person], at)[person.id]).name,
        at=at,
        purpose=look.purpose,
        report=stands.report,
        revisions=tuple(one.profile for one in stands.report.by_revision),
        standard_name=f"{standard.name}, version {standard.version}" if standard else "none",
        evidence=tuple(_evidence(row, names, reads=reads) for row in evidence),
        decisions=tuple(_decision(row, names, at, rests_on, reads=reads) for row in decisions),
    )


def evidence_known_at(act: Act, person_id: str, at: datetime) -> list[Evidence]:
    """Return the evidence that was recorded by a minute and not said anew by then, newest first."""
    later = aliased(Evidence)
    said_anew = select(later.id).where(later.replaces_id == Evidence.id, later.recorded_at <= at).exists()
    rows = act.session.scalars(
        select(Evidence)
        .where(Evidence.person_id == person_id, Evidence.recorded_at <= at, ~said_anew)
        .order_by(Evidence.happened_at.desc(), Evidence.id)
    )
    return list(rows)


def _decisions_known_at(act: Act, person_id: str, at: datetime) -> list[Decision]:
    rows = act.session.scalars(
        select(Decision)
        .where(Decision.person_id == person_id, Decision.decided_at <= at)
        .order_by(Decision.decided_at.desc(), Decision.id)
    )
    return list(rows)


def _names(act: Act, evidence: Sequence[Evidence], decisions: Sequence[Decision]) -> dict[str, str]:
    ids = {row.assessor_id for row in evidence if row.assessor_id}
    ids |= {who for row in decisions for who in (row.decided_by, row.second_by) if who}
    rows = act.session.execute(select(Person.id, Person.name).where(Person.id.in_(ids)))
    return {row.id: row.name for row in rows}


def _evidence(row: Evidence, names: dict[str, str], *, reads: bool) -> EvidenceThen:
    return EvidenceThen(
        competency=row.competency,
        kind=EvidenceKind(row.kind),
        outcome=row.outcome.replace("_", " "),
        summary=row.summary if reads else "",
        happened_at=row.happened_at,
        recorded_at=row.recorded_at,
        by=names.get(row.assessor_id or "", ""),
        device=_device(row.profile_code, row.profile_revision),
        counts=row.counts_for_sign_off,
    )


def _decision(
    row: Decision, names: dict[str, str], at: datetime, rests_on: set[str | None], *, reads: bool
) -> DecisionThen:
    second = f" and {names[row.second_by]}" if row.second_by else ""
    return DecisionThen(
        reference=row.id,
        competency=row.competency,
        outcome=Outcome(row.outcome).value.replace("_", " "),
        origin=DecisionOrigin(row.origin).words,
        last_valid_day=row.last_valid_day.isoformat() if row.last_valid_day else "",
        device=_device(row.profile_code, row.profile_revision),
        by=f"{names[row.decided_by]}{second}",
        decided_at=row.decided_at,
        conditions=row.conditions or "",
        reason=row.reason if reads else "",
        is_void=row.voided_at is not None and row.voided_at <= at,
        carries_the_standing=row.id in rests_on,
    )


def _device(code: str | None, revision: int | None) -> str:
    return f"{code} revision {revision}" if code else ""
