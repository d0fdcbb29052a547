"""A family once answered in the dangerous direction was answered right with new numbers: that is noted as evidence."""

from __future__ import annotations

from sqlalchemy import select

from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.services.act import Act
from quizapp.services.evidence_of import is_replaced
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting


def clear_danger(act: Act, sitting: Sitting, *, family: str, competency: str) -> None:
    """Note that a family once answered in the dangerous direction was answered right with new numbers.

    Nothing is noted where no such answer is open: never given, or answered right since.
    """
    if _is_open(act, sitting.person_id, family, competency):
        act.session.add(_redraw(act, sitting, family, competency))


def _is_open(act: Act, person_id: str, family: str, competency: str) -> bool:
    rows = act.session.scalars(
        select(Evidence)
        .where(
            Evidence.person_id == person_id,
            Evidence.competency == competency,
            Evidence.kind == EvidenceKind.SITTING.value,
            ~is_replaced(),
        )
        .order_by(Evidence.happened_at)
    )
    is_open = False
    for row in rows:
        is_open = is_open and family not in row.details.get("families_right", ())
        is_open = is_open or family in row.details.get("dangerous_families", ())
    return is_open


def _redraw(act: Act, sitting: Sitting, family: str, competency: str) -> Evidence:
    return Evidence(
        id=act.randomness.new_id(),
        person_id=sitting.person_id,
        competency=competency,
        kind=EvidenceKind.SITTING.value,
        source_id=sitting.id,
        procedure=None,
        outcome=EvidenceOutcome.INCOMPLETE.value,
        summary=f"{family} answered right with new numbers.",
        counts_for_sign_off=True,
        profile_code=sitting.profile_code,
        profile_revision=sitting.profile_revision,
        assessor_id=None,
        details={
            "questions": 1,
            "right": 1,
            "is_held_by_danger": False,
            "is_redraw": True,
            "dangerous_families": [],
            "families_right": [family],
        },
        happened_at=act.now,
        recorded_at=act.now,
    )
