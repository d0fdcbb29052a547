"""One decision as its page shows it: all versions, evidence, signatures, and a void that waits or was settled."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.permissions import Right
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.decision_versions import refuse_open_proposal, standing_version, versions_of
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision, DecisionVoid
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class Version:
    """One version: the stored row, who decided, and the receipts of its signatures (first, second)."""

    number: int
    row: Decision
    decided_by: str
    second_by: str
    receipts: tuple[str, ...]
    is_newest: bool


@dataclass(frozen=True, kw_only=True)
class VoidShown:
    """A proposal to void: by whom, why, and how it was settled ("" while it waits)."""

    id: str
    reason: str
    proposed_by: str
    proposed_at: datetime
    settled: str
    settled_reason: str


@dataclass(frozen=True, kw_only=True)
class DecisionPage:
    """A decision with everything about it; `open_void` is the proposal that waits."""

    person: Person
    title: str
    origin: str
    versions: tuple[Version, ...]
    evidence: tuple[str, ...]
    voids: tuple[VoidShown, ...]
    open_void: VoidShown | None

    @property
    def newest(self) -> Decision:
        """The version that stands, or stood until it was voided."""
        return self.versions[-1].row


def changeable_decision_page(act: Act, library: Library, decision_id: str) -> DecisionPage:
    """Return one decision that can still be amended or voided; raises Conflict for any other, NotFound as below."""
    standing_version(act, decision_id, right=Right.DECIDE)
    refuse_open_proposal(act, decision_id)
    return decision_page(act, library, decision_id)


def decision_page(act: Act, library: Library, decision_id: str) -> DecisionPage:
    """Return one decision; raises NotFound outside the actor's bases and for the actor's own."""
    found = versions_of(act, decision_id, right=Right.DECIDE)
    rows, newest = found.rows, found.newest
    voids = list(
        act.session.scalars(
            select(DecisionVoid)
            .where(DecisionVoid.decision_id.in_([row.id for row in rows]))
            .order_by(DecisionVoid.proposed_at)
        )
    )
    people = {person for row in rows for person in (row.decided_by, row.second_by) if person}
    people |= {person for one in voids for person in (one.proposed_by, one.settled_by) if person}
    names = {one.id: one.name for one in act.session.scalars(select(Person).where(Person.id.in_(people)))}
    receipts = _receipts(act, rows)
    shown = tuple(_void(one, names) for one in voids)
    evidence = act.session.scalars(
        select(Evidence).where(Evidence.id.in_(newest.evidence_ids)).order_by(Evidence.happened_at)
    )  # fmt: skip
    return DecisionPage(
        person=found.person,
        title=library.competencies[newest.competency].title if newest.competency in library.competencies else "",
        origin=DecisionOrigin(newest.origin).words,
        versions=tuple(
            Version(
                number=number,
                row=row,
                decided_by=names[row.decided_by],
                second_by=names.get(row.second_by or "", ""),
                receipts=tuple(receipts[one] for one in (row.signature_id, row.second_signature_id) if one in receipts),
                is_newest=row is newest,
            )
            for number, row in enumerate(rows, start=1)
        ),
        evidence=tuple(one.summary for one in evidence),
        voids=shown,
        open_void=next((one for one in shown if not one.settled), None),
    )


def _receipts(act: Act, rows: tuple[Decision, ...]) -> dict[str | None, str]:
    ids = [one for row in rows for one in (row.signature_id, row.second_signature_id) if one]
    found = act.session.execute(select(Signature.id, Signature.signature_hash).where(Signature.id.in_(ids)))
    return {signature_id: text[:16] for signature_id, text in found}


def _void(row: DecisionVoid, names: dict[str, str]) -> VoidShown:
    settled = ""
    if row.settled_by is not None:
        settled = f"{'Confirmed' if row.is_confirmed else 'Declined'} by {names[row.settled_by]}"
    return VoidShown(
        id=row.id,
        reason=row.reason,
        proposed_by=names[row.proposed_by],
        proposed_at=row.proposed_at,
        settled=settled,
        settled_reason=row.settled_reason or "",
    )
