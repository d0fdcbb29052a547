"""What a marked form becomes: the result as it is shown and kept, and one row of evidence a competency."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from typing import Any

from quizapp.assessment.knowledge_marking import (
    AnswerState,
    CompetencyResult,
    KnowledgeOutcome,
    KnowledgeResult,
    MarkedAnswer,
)
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.services.act import Act
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting

OUTCOME = {
    KnowledgeOutcome.SHOWN: EvidenceOutcome.SHOWN,
    KnowledgeOutcome.NOT_SHOWN: EvidenceOutcome.NOT_SHOWN,
}


def marked_answers(asked: Sequence[AskedQuestion], left_out: Collection[str]) -> list[MarkedAnswer]:
    """Return the answers of a form for marking; `left_out` are ids of questions that are no part of it any more."""
    return [
        MarkedAnswer(
            competencies=(one.competency,),
            family=one.question.family,
            credit=one.answer.credit if one.answer and not one.answer.is_late else Decimal(0),
            is_dangerous=bool(one.answer and one.answer.grade["is_dangerous"]),
            state=_state(one, is_left_out=one.id in left_out),
        )
        for one in asked
    ]


def _state(one: AskedQuestion, *, is_left_out: bool) -> AnswerState:
    if is_left_out:
        return AnswerState.LEFT_OUT
    return AnswerState.ANSWERED if one.answer and not one.answer.is_late else AnswerState.UNANSWERED


def result_as_kept(purpose: str, result: KnowledgeResult) -> dict[str, Any]:
    """Return the result as it is shown and kept."""
    finding = f"{result.right} of {result.questions} right."
    lede = "Practice: nothing here counts for or against you."
    if purpose != SittingPurpose.PRACTICE:
        finding = f"{result.right} of {result.questions} right; {result.cut} were needed."
        lede = "The form is shown. It is evidence; an educator decides." if result.is_shown else (
            "The form is not shown this time. Look at each answer; your educator sees it too and plans what comes next."
        )  # fmt: skip
    return {
        "finding": finding,
        "lede": lede,
        "right": result.right,
        "questions": result.questions,
        "cut": result.cut,
        "is_shown": result.is_shown,
        "competencies": [
            {
                "competency": one.competency,
                "right": one.right,
                "asked": one.asked,
                "is_shown": one.outcome is KnowledgeOutcome.SHOWN,
                "says": one.sentence,
            }
            for one in result.competencies
            if one.asked
        ],
    }


def evidence_of_form(
    act: Act, sitting: Sitting, one: CompetencyResult, *, counts: bool, before: Evidence | None = None
) -> Evidence:
    """Return the evidence of one competency, as new or as what says anew what `before` said.

    Said anew it happened when it happened, and a family once answered right stays answered right.
    """
    details: Mapping[str, Any] = before.details if before else {}
    return Evidence(
        id=act.randomness.new_id(),
        person_id=sitting.person_id,
        competency=one.competency,
        kind=EvidenceKind.SITTING.value,
        source_id=sitting.id,
        procedure=None,
        outcome=OUTCOME[one.outcome].value,
        summary=one.sentence,
        counts_for_sign_off=counts,
        profile_code=sitting.profile_code,
        profile_revision=sitting.profile_revision,
        assessor_id=None,
        details={
            "questions": one.asked,
            "right": one.right,
            "is_held_by_danger": one.is_held_by_danger,
            "dangerous_families": list(one.dangerous_families),
            "families_right": sorted({*one.families_right, *details.get("families_right", ())}),
            **({"says_anew": [before.id, *details.get("says_anew", ())]} if before else {}),
        },
        happened_at=before.happened_at if before else act.now,
        recorded_at=act.now,
        replaces_id=before.id if before else None,
    )
