"""The result of a sitting: how the form as a whole stands, each competency, and the way to each answer."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from quizapp.assessment import frozen_json
from quizapp.assessment.grading import Grade
from quizapp.assessment.released import SittingState, is_released
from quizapp.services.ideas_that_came_back import CameBack
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting
from quizapp.web.pages.sitting.why_words import chosen_option, headline

WAITS = "Opens once the assessment is closed."


@dataclass(frozen=True, kw_only=True)
class ShownResult:
    """Everything the template needs."""

    finding: str
    lede: str
    competencies: tuple[dict[str, Any], ...]
    answers: tuple[dict[str, Any], ...]
    came_back: tuple[CameBack, ...]


def shown_result(
    sitting: Sitting,
    asked: Sequence[AskedQuestion],
    state: SittingState,
    came_back: tuple[CameBack, ...],
    void: Collection[str],
) -> ShownResult:
    """Lay out a submitted sitting; answers that must not be explained yet only say so.

    `void`: the ids of questions that were declared void and count for nobody.
    """
    marked: dict[str, Any] = sitting.result or {}
    return ShownResult(
        finding=marked["finding"],
        lede=marked["lede"],
        competencies=tuple(marked["competencies"]),
        answers=tuple(_answer(sitting, one, state, is_void=one.id in void) for one in asked),
        came_back=came_back,
    )


def _answer(sitting: Sitting, one: AskedQuestion, state: SittingState, *, is_void: bool) -> dict[str, Any]:
    grade = frozen_json.from_plain(Grade, one.answer.grade) if one.answer else None
    is_open = is_released(state, one.question.use, is_answered=one.answer is not None)
    verdict = "left out" if is_void else "right" if grade is not None and grade.is_correct else "not right"
    return {
        "position": one.position,
        "title": one.question.title,
        "competency": one.competency,
        "verdict": verdict if is_open else "waits",
        "says": headline(one.question, grade, chosen_option(sitting, one))
        if is_open
        else "Opens once the assessment is closed.",
        "is_late": one.answer is not None and one.answer.is_late,
    }
