"""Whom a corrected or void key touches and how, worked out before anything is signed; nothing falls by it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.grading import Grade
from quizapp.assessment.knowledge_marking import CompetencyResult, FormRules, KnowledgeResult, mark_form
from quizapp.assessment.questions import Question
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.competence_episodes import Withdrawals, withdrawals
from quizapp.services.evidence_of import is_replaced
from quizapp.services.knowledge_evidence import OUTCOME, marked_answers, result_as_kept
from quizapp.services.regrade_answers import regraded
from quizapp.services.remark_keys import KeyChange, corrected_keys, questions_met
from quizapp.services.remarked import remarked_questions
from quizapp.services.sittings_of import AskedQuestion, asked_in_sittings, with_grade
from quizapp.store.assessments import Assessment, AssessmentPart
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting, SittingQuestion


@dataclass(frozen=True, kw_only=True)
class AnswerChange:
    """One question that is touched: its place, what happens, the new grade where it rises, and the corrected key."""

    asked: AskedQuestion
    effect: Effect
    grade: Grade | None
    corrected: Question | None


@dataclass(frozen=True, kw_only=True)
class EvidenceChange:
    """What one row of evidence says from now on: the result that replaces it, or None where it is kept."""

    before: Evidence
    after: CompetencyResult


@dataclass(frozen=True, kw_only=True)
class SittingChange:
    """One sitting that is touched, with its result before and after, whether it rises, stays or is kept."""

    sitting: Sitting
    title: str
    person_name: str
    answers: tuple[AnswerChange, ...]
    evidence: tuple[EvidenceChange, ...]
    before: dict[str, Any]
    after: dict[str, Any]
    effect: Effect


def plan_remark(
    act: Act, library: Library, question_id: str, wanted: KeyChange, *, for_change: bool = False
) -> tuple[SittingChange, ...]:
    """Return every sitting that a change of the key of a question touches, in order of start.

    A constant number of statements, whatever the number of people. `for_change`: other changes of these sittings wait
    until this one is done. Raises BadInput where the correction does not fit.
    """
    challenged = act.session.get_one(SittingQuestion, question_id)
    rows = questions_met(act, challenged, wanted.scope)
    sittings = _sittings(act, {row.sitting_id for row in rows}, for_change=for_change)
    asked = asked_in_sittings(act, list(sittings))
    corrected = corrected_keys(library, challenged, rows, asked, wanted)
    records = _records(act, sittings, asked)
    touched: dict[str, list[str]] = defaultdict(list)
    for row in rows:
        touched[row.sitting_id].append(row.id)
    return tuple(
        _sitting_change(records, sitting, asked[sitting.id], touched[sitting.id], corrected, wanted)
        for sitting in sittings.values()
    )


def _sittings(act: Act, ids: set[str], *, for_change: bool) -> dict[str, Sitting]:
    wanted = select(Sitting).where(Sitting.id.in_(ids)).order_by(Sitting.id)
    if for_change:
        wanted = wanted.with_for_update().execution_options(populate_existing=True)
    rows = sorted(act.session.scalars(wanted), key=lambda row: (row.started_at, row.id))
    return {row.id: row for row in rows}


@dataclass(frozen=True, kw_only=True)
class _Records:
    """What the plan reads beside the answers, gathered once."""

    names: Mapping[str, str]
    assessments: Mapping[str, Assessment]
    minima: Mapping[str, Mapping[str, int]]
    evidence: Mapping[tuple[str, str], Evidence]
    taken_out: Withdrawals
    void: frozenset[str]


def _records(act: Act, sittings: Mapping[str, Sitting], asked: Mapping[str, list[AskedQuestion]]) -> _Records:
    person_ids = {one.person_id for one in sittings.values()}
    assessment_ids = {one.assessment_id for one in sittings.values() if one.assessment_id}
    minima: dict[str, dict[str, int]] = defaultdict(dict)
    parts = select(AssessmentPart).where(AssessmentPart.assessment_id.in_(assessment_ids))
    for part in act.session.scalars(parts):
        if part.minimum_right:
            minima[part.assessment_id][part.competency] = part.minimum_right
    rows = act.session.scalars(
        select(Evidence).where(
            Evidence.source_id.in_(list(sittings)), Evidence.kind == EvidenceKind.SITTING.value, ~is_replaced()
        )
    )
    question_ids = [one.id for questions in asked.values() for one in questions]
    names = act.session.execute(select(Person.id, Person.name, Person.staff_number).where(Person.id.in_(person_ids)))
    return _Records(
        names={person_id: f"{name}, {number}" for person_id, name, number in names},
        assessments={
            one.id: one for one in act.session.scalars(select(Assessment).where(Assessment.id.in_(assessment_ids)))
        },
        minima=minima,
        evidence={(row.source_id, row.competency): row for row in rows if not row.details.get("is_redraw")},
        taken_out=withdrawals(act.session),
        void=frozenset(
            key for key, one in remarked_questions(act.session, question_ids).items() if one.is_void
        ),
    )  # fmt: skip


def _sitting_change(
    records: _Records,
    sitting: Sitting,
    asked: Sequence[AskedQuestion],
    touched: Sequence[str],
    corrected: Mapping[str, Question | None],
    wanted: KeyChange,
) -> SittingChange:
    answers = tuple(_answer_change(sitting, one, corrected[one.id], wanted) for one in asked if one.id in touched)
    assessment = records.assessments.get(sitting.assessment_id or "")
    before: dict[str, Any] = sitting.result or {}
    after, effect = before, Effect.OPEN
    evidence: tuple[EvidenceChange, ...] = ()
    if sitting.submitted_at is not None:
        after, evidence, effect = _result_change(records, sitting, asked, answers)
    return SittingChange(
        sitting=sitting,
        title=assessment.title if assessment else "practice",
        person_name=records.names[sitting.person_id],
        answers=answers,
        evidence=evidence,
        before=before,
        after=after,
        effect=effect,
    )


def _answer_change(
    sitting: Sitting, asked: AskedQuestion, corrected: Question | None, wanted: KeyChange
) -> AnswerChange:
    if corrected is None:
        effect = Effect.VOID if wanted.outcome is ChallengeOutcome.VOID else Effect.NOT_DRAWN
        return AnswerChange(asked=asked, effect=effect, grade=None, corrected=None)
    if sitting.submitted_at is None and sitting.purpose == SittingPurpose.ASSESSMENT:
        return AnswerChange(asked=asked, effect=Effect.OPEN, grade=None, corrected=corrected)
    again = regraded(sitting, asked, corrected)
    grade, effect = again or (None, Effect.SAME)
    return AnswerChange(asked=asked, effect=effect, grade=grade, corrected=corrected)


def _result_change(
    records: _Records, sitting: Sitting, asked: Sequence[AskedQuestion], answers: Sequence[AnswerChange]
) -> tuple[dict[str, Any], tuple[EvidenceChange, ...], Effect]:
    """Mark the form anew; whatever would fall keeps what it was."""
    result = mark_form(_marked_anew(records, sitting, asked, answers), _rules(records, sitting, len(asked)))
    evidence, kept = [], []
    for one in result.competencies:
        before = records.evidence.get((sitting.id, one.competency))
        if before is None:
            continue
        if _falls(before.outcome, one):
            kept.append(one.competency)
        elif _says_more(before, one):
            evidence.append(EvidenceChange(before=before, after=one))
    after = _with_what_is_kept(sitting, result, kept)
    return after, tuple(evidence), _effect(sitting.result or {}, after, kept, answers)


def _marked_anew(
    records: _Records, sitting: Sitting, asked: Sequence[AskedQuestion], answers: Sequence[AnswerChange]
) -> list[Any]:
    changed = {change.asked.id: change for change in answers}
    left_out = {one.id for one in asked if one.id in records.void or _was_withdrawn(records, sitting, one)}
    left_out |= {key for key, change in changed.items() if change.effect is Effect.VOID}
    anew = [with_grade(one, changed[one.id].grade) if one.id in changed else one for one in asked]
    return marked_answers(anew, left_out)


def _was_withdrawn(records: _Records, sitting: Sitting, one: AskedQuestion) -> bool:
    assert sitting.submitted_at is not None
    return records.taken_out.holds(one.question.family, one.question.content_hash, sitting.submitted_at)


def _rules(records: _Records, sitting: Sitting, length: int) -> FormRules:
    assessment = records.assessments.get(sitting.assessment_id or "")
    if assessment is None:
        return FormRules(cut=max(1, length))
    return FormRules(cut=assessment.cut, minimum_right=records.minima.get(assessment.id, {}))


def _falls(before: str, after: CompetencyResult) -> bool:
    return before == EvidenceOutcome.SHOWN and OUTCOME.get(after.outcome) is not EvidenceOutcome.SHOWN


def _says_more(before: Evidence, after: CompetencyResult) -> bool:
    """Whether there is anything to say anew; a competency no longer asked keeps what was said."""
    if after.outcome not in OUTCOME:
        return False
    said = (before.outcome, before.summary, set(before.details.get("dangerous_families", ())))
    return said != (OUTCOME[after.outcome].value, after.sentence, set(after.dangerous_families))


def _with_what_is_kept(sitting: Sitting, result: KnowledgeResult, kept: Sequence[str]) -> dict[str, Any]:
    before: dict[str, Any] = sitting.result or {}
    after = result_as_kept(sitting.purpose, result)
    if before.get("is_shown") and not after["is_shown"] and sitting.purpose == SittingPurpose.ASSESSMENT:
        return before
    rows = {one["competency"]: one for one in before.get("competencies", ())}
    after["competencies"] = [
        rows.get(one["competency"], one) if one["competency"] in kept else one for one in after["competencies"]
    ]
    return after


def _effect(
    before: Mapping[str, Any], after: Mapping[str, Any], kept: Sequence[str], answers: Sequence[AnswerChange]
) -> Effect:
    if kept or any(one.effect is Effect.KEPT for one in answers):
        return Effect.KEPT
    has_risen = after.get("right", 0) > before.get("right", 0) or any(one.effect is Effect.RAISED for one in answers)
    return Effect.RAISED if has_risen else Effect.SAME
