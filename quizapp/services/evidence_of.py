"""The evidence of people as the rules of sign-off read it, with what already carried a decision marked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import aliased

from quizapp.assessment.sign_off import EvidenceItem, EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import Outcome, ProfileRevision
from quizapp.services.act import Act
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence


def evidence_rows(act: Act, person_ids: Sequence[str]) -> dict[str, list[Evidence]]:
    """Return the evidence of people that counts today, oldest first, with one statement.

    Of evidence that was said anew after a correction only the newest row counts, so nothing counts twice.
    """
    found: dict[str, list[Evidence]] = defaultdict(list)
    rows = act.session.scalars(
        select(Evidence)
        .where(Evidence.person_id.in_(person_ids), ~is_replaced())
        .order_by(Evidence.happened_at, Evidence.id)
    )
    for row in rows:
        found[row.person_id].append(row)
    return found


def is_replaced() -> ColumnElement[bool]:
    """Whether the evidence of a statement over Evidence was said anew by a later row."""
    later = aliased(Evidence)
    return select(later.id).where(later.replaces_id == Evidence.id).exists()


def evidence_items(act: Act, rows: Sequence[Evidence], decisions: Sequence[Decision]) -> list[EvidenceItem]:
    """Return one person's evidence for the rules; `decisions` are all of that person's.

    Evidence said anew after a correction carried what the row before it carried.
    """
    used = {
        reference
        for decision in decisions
        if decision.outcome == Outcome.COMPETENT and decision.voided_at is None
        for reference in decision.evidence_ids
    }
    return [_item(act, row, is_used=not used.isdisjoint({row.id, *row.details.get("says_anew", ())})) for row in rows]


def _item(act: Act, row: Evidence, *, is_used: bool) -> EvidenceItem:
    profile = None
    if row.profile_code is not None and row.profile_revision is not None:
        profile = ProfileRevision(code=row.profile_code, revision=row.profile_revision)
    details = row.details
    return EvidenceItem(
        reference=row.id,
        competency=row.competency,
        kind=EvidenceKind(row.kind),
        outcome=EvidenceOutcome(row.outcome),
        happened_at=row.happened_at,
        happened_on=row.happened_at.astimezone(act.zone).date(),
        profile=profile,
        is_content_accepted=row.counts_for_sign_off,
        procedure=row.procedure,
        assessor_ids=(row.assessor_id,) if row.assessor_id else (),
        questions=details.get("questions", 0),
        is_held_by_danger=details.get("is_held_by_danger", False),
        dangerous_families=frozenset(details.get("dangerous_families", ())),
        families_right=frozenset(details.get("families_right", ())),
        is_used=is_used,
        is_redraw=details.get("is_redraw", False),
        last_valid_day=date.fromisoformat(details["last_valid_day"]) if details.get("last_valid_day") else None,
    )
