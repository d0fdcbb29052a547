"""Finds a person's own sittings with their frozen questions and newest answers; a foreign sitting is not found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Exists, func, select

from quizapp.assessment import frozen_json
from quizapp.assessment.grading import Grade
from quizapp.assessment.questions import Question
from quizapp.assessment.released import SittingState
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentWithdrawal
from quizapp.store.assessments import Assessment
from quizapp.store.sittings import Answer, Sitting, SittingQuestion


@dataclass(frozen=True, kw_only=True)
class GivenAnswer:
    """The newest answer to one question: what was written, how it was graded, and its receipt."""

    revision: int
    response: dict[str, Any]
    grade: dict[str, Any]
    is_late: bool
    answered_at: datetime
    receipt: str

    @property
    def credit(self) -> Decimal:
        """What the answer is worth, 0 to 1."""
        return Decimal(self.grade["credit"])


@dataclass(frozen=True, kw_only=True)
class AskedQuestion:
    """One place of a sitting: the frozen question and the newest answer, if any.

    `is_withdrawn`: its file is withdrawn now, so that an open sitting passes it over.
    """

    id: str
    position: int
    competency: str
    counts_for_sign_off: bool
    question: Question
    answer: GivenAnswer | None
    is_withdrawn: bool = False


def own_sitting(act: Act, sitting_id: str, *, to_change: bool = False) -> Sitting:
    """Return the actor's own sitting; raises NotFound for any other id.

    to_change: other changes of the same sitting wait until this one is done, so that each sees what came before.
    """
    sitting = act.session.get(Sitting, sitting_id, with_for_update=to_change or None, populate_existing=to_change)
    if sitting is None or sitting.person_id != act.actor.person_id:
        raise NotFound("There is no such sitting of yours.")
    return sitting


def sitting_state(act: Act, sitting: Sitting) -> SittingState:
    """Return how far a sitting is, which says what its person may see."""
    assessment = act.session.get(Assessment, sitting.assessment_id) if sitting.assessment_id else None
    return SittingState(
        is_practice=sitting.purpose == SittingPurpose.PRACTICE,
        is_handed_in=sitting.submitted_at is not None,
        window_is_closed=assessment is not None and assessment.closed_at is not None,
    )


def file_is_withdrawn() -> Exists:
    """Say of a place of a sitting, in the statement that finds it, whether its file is withdrawn now."""
    return (
        select(ContentWithdrawal.id)
        .where(
            ContentWithdrawal.code == SittingQuestion.family,
            ContentWithdrawal.content_hash == SittingQuestion.content_hash,
            ContentWithdrawal.step == "",
            ContentWithdrawal.lifted_at.is_(None),
        )
        .exists()
    )


def asked_questions(act: Act, sitting_id: str) -> list[AskedQuestion]:
    """Return every place of a sitting in order, with two statements."""
    return asked_in_sittings(act, [sitting_id])[sitting_id]


def asked_in_sittings(act: Act, sitting_ids: Sequence[str]) -> dict[str, list[AskedQuestion]]:
    """Return every place of many sittings, each sitting's in order, with two statements."""
    rows = list(
        act.session.execute(
            select(SittingQuestion, file_is_withdrawn())
            .where(SittingQuestion.sitting_id.in_(sitting_ids))
            .order_by(SittingQuestion.sitting_id, SittingQuestion.position)
        )
    )
    answers = newest_answers(act, [row.id for row, _ in rows])
    found: dict[str, list[AskedQuestion]] = {sitting_id: [] for sitting_id in sitting_ids}
    for row, is_withdrawn in rows:
        found[row.sitting_id].append(
            AskedQuestion(
                id=row.id,
                position=row.position,
                competency=row.competency,
                counts_for_sign_off=row.counts_for_sign_off,
                question=Question.from_plain(row.frozen),
                answer=answers.get(row.id),
                is_withdrawn=is_withdrawn,
            )
        )
    return found


def with_grade(asked: AskedQuestion, grade: Grade | None) -> AskedQuestion:
    """Return a place with another grade for its answer; a place without an answer, or no grade, is left as it is."""
    if asked.answer is None or grade is None:
        return asked
    return replace(asked, answer=replace(asked.answer, grade=frozen_json.to_plain(grade)))


def newest_answers(act: Act, question_ids: list[str]) -> dict[str, GivenAnswer]:
    """Return the newest answer to each of the questions that has one."""
    newest = (
        select(Answer.question_id, func.max(Answer.revision).label("revision"))
        .where(Answer.question_id.in_(question_ids))
        .group_by(Answer.question_id)
        .subquery()
    )
    rows = act.session.scalars(
        select(Answer).join(
            newest, (Answer.question_id == newest.c.question_id) & (Answer.revision == newest.c.revision)
        )
    )
    return {
        row.question_id: GivenAnswer(
            revision=row.revision,
            response=row.response,
            grade=row.grade,
            is_late=row.is_late,
            answered_at=row.answered_at,
            receipt=row.receipt,
        )
        for row in rows
    }
