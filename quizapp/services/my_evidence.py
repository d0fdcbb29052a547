"""A person's own evidence and the decisions taken on it, competency by competency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select

from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import CompetencyStanding, Outcome
from quizapp.assessment.validity import add_months
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.evidence_of import evidence_rows
from quizapp.services.person_standing import standing_of
from quizapp.services.standards import standard_on
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting


@dataclass(frozen=True, kw_only=True)
class EvidenceLine:
    """One piece of evidence: what it shows, when, from whom, and whether there is a page of its own to look at.

    `usable_until`: the last day on which it can carry a decision by today's standard; None where it carries none.
    """

    kind: EvidenceKind
    source_id: str
    has_page: bool
    outcome: str
    summary: str
    happened_at: datetime
    source: str
    counts: bool
    device: str
    usable_until: date | None


@dataclass(frozen=True, kw_only=True)
class DecisionLine:
    """One decision: outcome, until when, by whom, and the receipt of its signature."""

    outcome: str
    origin: str
    reason: str
    conditions: str
    last_valid_day: date | None
    decided_on: datetime
    decided_by: str
    second_by: str
    device: str
    receipt: str
    is_void: bool


@dataclass(frozen=True, kw_only=True)
class CompetencyEvidence:
    """Everything about one competency, newest first."""

    code: str
    title: str
    standing: CompetencyStanding
    evidence: list[EvidenceLine]
    decisions: list[DecisionLine]


def my_evidence(act: Act, library: Library) -> list[CompetencyEvidence]:
    """Return the actor's evidence and decisions for every competency that has any or is required."""
    me = act.actor.person_id
    report = standing_of(act, library, me).report
    rows = evidence_rows(act, [me])[me]
    decisions = list(
        act.session.scalars(select(Decision).where(Decision.person_id == me).order_by(Decision.decided_at.desc()))
    )
    names = _names(act, {row.assessor_id for row in rows}, decisions)
    receipts = _receipts(act, decisions)
    with_page = _with_page(act, rows)
    standard = standard_on(act.session, act.today)
    months = {one.competency: one.validity_months for one in standard.requirements} if standard else {}
    codes = {row.competency for row in rows} | {row.competency for row in decisions}
    codes |= {row.competency for row in report.rows}
    return [
        CompetencyEvidence(
            code=code,
            title=library.competencies[code].title if code in library.competencies else "",
            standing=report.of_competency(code),
            evidence=[
                _evidence_line(act, row, names, with_page, months.get(code))
                for row in reversed(rows)
                if row.competency == code
            ],
            decisions=[_decision_line(row, names, receipts) for row in decisions if row.competency == code],
        )
        for code in sorted(codes, key=lambda code: (len(code), code))
    ]


SOURCES = {
    EvidenceKind.SITTING: "own sitting",
    EvidenceKind.OBSERVATION: "an observation",
    EvidenceKind.DISCUSSION: "a structured discussion",
    EvidenceKind.RECOGNISED: "outside evidence",
}


def _evidence_line(
    act: Act, row: Evidence, names: dict[str, str], with_page: set[str], months: int | None
) -> EvidenceLine:
    kind = EvidenceKind(row.kind)
    return EvidenceLine(
        kind=kind,
        source_id=row.source_id,
        has_page=row.source_id in with_page,
        outcome=row.outcome,
        summary=row.summary,
        happened_at=row.happened_at,
        source=names.get(row.assessor_id or "") or SOURCES[kind],
        counts=row.counts_for_sign_off,
        device=_device(row.profile_code, row.profile_revision),
        usable_until=_usable_until(act, row, months),
    )


def _usable_until(act: Act, row: Evidence, months: int | None) -> date | None:
    """The last day on which it can carry a decision; only what is shown and counts can, of what is required."""
    if months is None or not row.counts_for_sign_off or row.outcome != EvidenceOutcome.SHOWN:
        return None
    return add_months(row.happened_at.astimezone(act.zone).date(), months)


def _with_page(act: Act, rows: Sequence[Evidence]) -> set[str]:
    """Return the ids of the observations, and of the sittings that were handed in."""
    sources = {kind: [row.source_id for row in rows if row.kind == kind] for kind in EvidenceKind}
    handed_in = select(Sitting.id).where(
        Sitting.id.in_(sources[EvidenceKind.SITTING]), Sitting.submitted_at.is_not(None)
    )
    locked = select(Observation.id).where(Observation.id.in_(sources[EvidenceKind.OBSERVATION]))
    return {*act.session.scalars(handed_in), *act.session.scalars(locked), *sources[EvidenceKind.DISCUSSION]}


def _decision_line(row: Decision, names: dict[str, str], receipts: dict[str, str]) -> DecisionLine:
    return DecisionLine(
        outcome=Outcome(row.outcome).value.replace("_", " "),
        origin=DecisionOrigin(row.origin).words,
        reason=row.reason,
        conditions=row.conditions or "",
        last_valid_day=row.last_valid_day,
        decided_on=row.decided_at,
        decided_by=names[row.decided_by],
        second_by=names.get(row.second_by or "", ""),
        device=_device(row.profile_code, row.profile_revision),
        receipt=receipts.get(row.signature_id or "", ""),
        is_void=row.voided_at is not None,
    )


def _device(code: str | None, revision: int | None) -> str:
    return f"{code} revision {revision}" if code else ""


def _names(act: Act, assessors: set[str | None], decisions: list[Decision]) -> dict[str, str]:
    ids = {one for one in assessors if one} | {row.decided_by for row in decisions}
    ids |= {row.second_by for row in decisions if row.second_by}
    rows = act.session.execute(select(Person.id, Person.name).where(Person.id.in_(ids)))
    return {row.id: row.name for row in rows}


def _receipts(act: Act, decisions: list[Decision]) -> dict[str, str]:
    ids = {row.signature_id for row in decisions if row.signature_id}
    rows = act.session.execute(select(Signature.id, Signature.signature_hash).where(Signature.id.in_(ids)))
    return {signature_id: signature_hash[:16] for signature_id, signature_hash in rows}
