"""A sitting is handed in: marked as a form, each competency's evidence written, what lies behind each answer opened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.knowledge_marking import CompetencyResult, FormRules, mark_form
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.content_in_force import content_in_force
from quizapp.services.knowledge_evidence import OUTCOME, evidence_of_form, marked_answers, result_as_kept
from quizapp.services.regrade_answers import regrade_by_corrected_keys
from quizapp.services.remarked import Remarked, remarked_questions
from quizapp.services.sittings_of import AskedQuestion, asked_questions, own_sitting
from quizapp.services.update_competence import learn_from_sitting
from quizapp.store.assessments import Assessment, AssessmentPart
from quizapp.store.sittings import Sitting


def submit_sitting(act: Act, sitting_id: str) -> str:
    """Hand in one's own sitting and return its id; handed in already, nothing changes. Raises NotFound."""
    sitting = own_sitting(act, sitting_id, to_change=True)
    if sitting.submitted_at is not None:
        return sitting.id
    asked = asked_questions(act, sitting_id)
    remarked = remarked_questions(act.session, [one.id for one in asked])
    if regrade_by_corrected_keys(act, sitting, asked, remarked):
        asked = asked_questions(act, sitting_id)
    result = mark_form(marked_answers(asked, _left_out(act, asked, remarked)), _rules(act, sitting, asked))
    sitting.submitted_at = act.now
    sitting.result = result_as_kept(sitting.purpose, result)
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


def _left_out(act: Act, asked: Sequence[AskedQuestion], remarked: Mapping[str, Remarked]) -> set[str]:
    withdrawn = content_in_force(act).withdrawn
    void = {key for key, one in remarked.items() if one.is_void}
    return void | {one.id for one in asked if (one.question.family, one.question.content_hash) in withdrawn}


def _rules(act: Act, sitting: Sitting, asked: Sequence[AskedQuestion]) -> FormRules:
    if sitting.assessment_id is None:
        return FormRules(cut=max(1, len(asked)))
    cut = act.session.get_one(Assessment, sitting.assessment_id).cut
    parts = act.session.scalars(select(AssessmentPart).where(AssessmentPart.assessment_id == sitting.assessment_id))
    return FormRules(
        cut=cut, minimum_right={part.competency: part.minimum_right for part in parts if part.minimum_right}
    )


def _add_evidence(act: Act, sitting: Sitting, asked: Sequence[AskedQuestion], one: CompetencyResult) -> None:
    if one.outcome in OUTCOME:
        counts = all(place.counts_for_sign_off for place in asked if place.competency == one.competency)
        act.session.add(evidence_of_form(act, sitting, one, counts=counts))
