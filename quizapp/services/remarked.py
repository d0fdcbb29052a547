"""What signed answers to challenges changed: corrected keys, questions that are void, corrected observations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.questions import Question
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.challenges import ChallengeAnswer, CorrectedObservation, RemarkedQuestion, RemarkedSitting
from quizapp.store.sittings import SittingQuestion


@dataclass(frozen=True, kw_only=True)
class Remarked:
    """The newest signed answer about one question: its effect, the corrected question if there is one, and why."""

    question_id: str
    effect: Effect
    is_void: bool
    corrected: Question | None
    reason: str
    remarked_at: datetime


def remarked_questions(session: Session, question_ids: Sequence[str]) -> dict[str, Remarked]:
    """Return what became of those of the questions that a signed answer touched, with one statement."""
    rows = session.execute(
        select(RemarkedQuestion, ChallengeAnswer.reason)
        .join(ChallengeAnswer, ChallengeAnswer.id == RemarkedQuestion.challenge_answer_id)
        .where(RemarkedQuestion.question_id.in_(question_ids))
        .order_by(RemarkedQuestion.remarked_at, RemarkedQuestion.id)
    )
    found: dict[str, Remarked] = {}
    for row, reason in rows:
        earlier = found.get(row.question_id)
        found[row.question_id] = Remarked(
            question_id=row.question_id,
            effect=Effect(row.effect),
            is_void=row.is_void or (earlier is not None and earlier.is_void),
            corrected=Question.from_plain(row.corrected) if row.corrected is not None else None,
            reason=reason,
            remarked_at=row.remarked_at,
        )
    return found


def void_among(session: Session, asked: Sequence[AskedQuestion]) -> frozenset[str]:
    """Return the ids of those places of a sitting that were declared void."""
    found = remarked_questions(session, [one.id for one in asked])
    return frozenset(key for key, one in found.items() if one.is_void)


def by_corrected_key(asked: AskedQuestion, remark: Remarked | None) -> AskedQuestion:
    """Return a place with its corrected key, where it has one; the grade that counts stays with the answer."""
    if remark is None or remark.corrected is None:
        return asked
    return replace(asked, question=remark.corrected)


@dataclass(frozen=True, kw_only=True)
class SittingRemark:
    """What one signed answer did to a sitting: when, why, and its result before and after."""

    effect: Effect
    outcome: ChallengeOutcome
    reason: str
    before: str
    after: str
    answered_at: datetime


def remarks_of_sitting(session: Session, sitting_id: str) -> tuple[SittingRemark, ...]:
    """Return the signed answers that touched a sitting, oldest first, with one statement."""
    rows = session.execute(
        select(RemarkedSitting, ChallengeAnswer)
        .join(ChallengeAnswer, ChallengeAnswer.id == RemarkedSitting.challenge_answer_id)
        .where(RemarkedSitting.sitting_id == sitting_id)
        .order_by(ChallengeAnswer.answered_at, ChallengeAnswer.id)
    )
    return tuple(
        SittingRemark(
            effect=Effect(row.effect),
            outcome=ChallengeOutcome(answer.outcome),
            reason=answer.reason,
            before=row.before.get("finding", ""),
            after=row.after.get("finding", ""),
            answered_at=answer.answered_at,
        )
        for row, answer in rows
    )


def question_is_void() -> ColumnElement[bool]:
    """Whether the question of a statement over SittingQuestion was declared void: it counts for nobody."""
    return (
        select(RemarkedQuestion.id)
        .where(RemarkedQuestion.question_id == SittingQuestion.id, RemarkedQuestion.is_void.is_(True))
        .exists()
    )


def corrected_observations(session: Session, observation_ids: Sequence[str]) -> dict[str, list[CorrectedObservation]]:
    """Return the corrections of observations, oldest first, with one statement; the newest result counts."""
    found: dict[str, list[CorrectedObservation]] = {}
    rows = session.scalars(
        select(CorrectedObservation)
        .where(CorrectedObservation.observation_id.in_(observation_ids))
        .order_by(CorrectedObservation.corrected_at, CorrectedObservation.id)
    )
    for row in rows:
        found.setdefault(row.observation_id, []).append(row)
    return found


def newest_results(session: Session, observation_ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return the newest result of each observation that was corrected."""
    return {key: rows[-1].result for key, rows in corrected_observations(session, observation_ids).items()}
