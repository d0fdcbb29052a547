"""What signed answers to challenges changed: corrected keys, questions that are void, corrected observations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from quizapp.assessment.challenges import Effect
from quizapp.assessment.questions import Question
from quizapp.store.challenges import ChallengeAnswer, CorrectedObservation, RemarkedQuestion
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
