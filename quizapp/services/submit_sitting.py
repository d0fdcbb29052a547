"""A sitting is handed in: marked as a form, each competency's evidence written, what lies behind each answer opened."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.knowledge_marking import (
    AnswerState,
    CompetencyResult,
    FormRules,
    KnowledgeOutcome,
    KnowledgeResult,
    MarkedAnswer,
    mark_form,
)
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.content_in_force import content_in_force
from quizapp.services.sittings_of import AskedQuestion, asked_questions, own_sitting
from quizapp.services.update_competence import learn_from_sitting
from quizapp.store.assessments import Assessment, AssessmentPart
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting


def submit_sitting(act: Act, sitting_id: str) -> str:
    """Hand in one's own sitting and return its id; handed in already, nothing changes. Raises NotFound."""
    sitting = own_sitting(act, sitting_id, to_change=True)
    if sitting.submitted_at is not None:
        return sitting.id
    asked = asked_questions(act, sitting_id)
    result = mark_form(_marked(act, asked), _rules(act, sitting, asked))
    sitting.submitted_at = act.now
    sitting.result = _kept(sitting, result)
    if sitting.purpose == SittingPurpose.ASSESSMENT:
        for one in result.competencies:
            _add_evidence(act, sitting, asked, one)
    record(
        act, AuditEvent.SITTING_SUBMITTED, "sitting", sitting.id,
        person_id=act.actor.person_id, thing=sitting.assessment_id or "practice",
        after={"right": result.right, "questions": result.questions, "cut": result.cut},
    )  # fmt: skip
    learn_from_sitting(act, sitting)
    return sitting.id


def _marked(act: Act, asked: Sequence[AskedQuestion]) -> list[MarkedAnswer]:
    withdrawn = content_in_force(act).withdrawn
    return [
        MarkedAnswer(
            competencies=(one.competency,),
            family=one.question.family,
            credit=one.answer.credit if one.answer and not one.answer.is_late else Decimal(0),
            is_dangerous=bool(one.answer and one.answer.grade["is_dangerous"]),
            state=_state(one, withdrawn),
        )
        for one in asked
    ]


def _state(one: AskedQuestion, withdrawn: frozenset[tuple[str, str]]) -> AnswerState:
    if (one.question.family, one.question.content_hash) in withdrawn:
        return AnswerState.LEFT_OUT
    return AnswerState.ANSWERED if one.answer and not one.answer.is_late else AnswerState.UNANSWERED


def _rules(act: Act, sitting: Sitting, asked: Sequence[AskedQuestion]) -> FormRules:
    if sitting.assessment_id is None:
        return FormRules(cut=max(1, len(asked)))
    cut = act.session.get_one(Assessment, sitting.assessment_id).cut
    parts = act.session.scalars(select(AssessmentPart).where(AssessmentPart.assessment_id == sitting.assessment_id))
    return FormRules(
        cut=cut, minimum_right={part.competency: part.minimum_right for part in parts if part.minimum_right}
    )


def _kept(sitting: Sitting, result: KnowledgeResult) -> dict[str, Any]:
    """Return the result as it is shown and kept."""
    is_practice = sitting.purpose == SittingPurpose.PRACTICE
    finding = f"{result.right} of {result.questions} right."
    lede = "Practice: nothing here counts for or against you."
    if not is_practice:
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


OUTCOME = {
    KnowledgeOutcome.SHOWN: EvidenceOutcome.SHOWN,
    KnowledgeOutcome.NOT_SHOWN: EvidenceOutcome.NOT_SHOWN,
}


def _add_evidence(act: Act, sitting: Sitting, asked: Sequence[AskedQuestion], one: CompetencyResult) -> None:
    if one.outcome not in OUTCOME:
        return
    counts = all(place.counts_for_sign_off for place in asked if place.competency == one.competency)
    act.session.add(
        Evidence(
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
                "families_right": list(one.families_right),
            },
            happened_at=act.now,
            recorded_at=act.now,
        )
    )
