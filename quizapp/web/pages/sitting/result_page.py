"""The result of a sitting: how the form as a whole stands, each competency, and the way to each answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from quizapp.assessment import frozen_json
from quizapp.assessment.grading import Grade
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting
from quizapp.web.pages.sitting.why_page import headline


@dataclass(frozen=True, kw_only=True)
class ShownResult:
    """Everything the template needs."""

    finding: str
    lede: str
    competencies: tuple[dict[str, Any], ...]
    answers: tuple[dict[str, Any], ...]


def shown_result(sitting: Sitting, asked: Sequence[AskedQuestion]) -> ShownResult:
    """Lay out a submitted sitting."""
    marked: dict[str, Any] = sitting.result or {}
    return ShownResult(
        finding=marked["finding"],
        lede=marked["lede"],
        competencies=tuple(marked["competencies"]),
        answers=tuple(_answer(one) for one in asked),
    )


def _answer(one: AskedQuestion) -> dict[str, Any]:
    grade = frozen_json.from_plain(Grade, one.answer.grade) if one.answer else None
    return {
        "position": one.position,
        "title": one.question.title,
        "competency": one.competency,
        "is_right": grade is not None and grade.is_correct,
        "says": headline(one.question, grade),
        "is_late": one.answer is not None and one.answer.is_late,
    }
