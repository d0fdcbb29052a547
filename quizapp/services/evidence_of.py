"""The evidence of people as the rules of sign-off read it, with what already carried a decision marked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import select

from quizapp.assessment.sign_off import EvidenceItem, EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import Outcome, ProfileRevision
from quizapp.services.act import Act
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence


def evidence_rows(act: Act, person_ids: Sequence[str]) -> dict[str, list[Evidence]]:
    """Return the stored evidence of people, oldest first, with one statement."""
    found: dict[str, list[Evidence]] = defaultdict(list)
    rows = act.session.scalars(
        select(Evidence).where(Evidence.person_id.in_(person_ids)).order_by(Evidence.happened_at, Evidence.id)
    )
    for row in rows:
        found[row.person_id].append(row)
    return found


def evidence_items(act: Act, rows: Sequence[Evidence], decisions: Sequence[Decision]) -> list[EvidenceItem]:
    """Return one person's evidence for the rules; `decisions` are all of that person's."""
    used = {
        reference
        for decision in decisions
        if decision.outcome == Outcome.COMPETENT and decision.voided_at is None
        for reference in decision.evidence_ids
    }
    return [_item(act, row, is_used=row.id in used) for row in rows]


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
    )
