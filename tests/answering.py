"""Chosen answers to chosen families: sittings whose questions are of the families a test names."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from datetime import timedelta

from sqlalchemy import select

from quizapp.assessment.grading import NumericAnswer, grade_numbers
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.record_answer import Response, option_token, record_answer
from quizapp.services.start_sitting import start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.sittings import Sitting, SittingQuestion
from tests.small_service import SmallService

LATER = timedelta(minutes=2)


def begun_with(
    small: SmallService, library: Library, assessment_id: str, families: list[str], *, name: str = "mira",
    ideas: Sequence[str] = (),
) -> str:  # fmt: skip
    """Begin an assessment and put questions of these families, able to name these ideas, in place of those drawn."""
    with small.acting(name) as act:
        sitting_id = start_sitting(act, library, assessment_id)
    with small.database.writing() as session:
        rows = list(session.scalars(select(SittingQuestion).where(SittingQuestion.sitting_id == sitting_id)))
        rows.sort(key=lambda row: row.position)
        for row, code, idea in zip(rows, families, [*ideas, *[""] * len(families)], strict=False):
            question = naming(library, code, idea)
            row.family, row.frozen = code, copy.deepcopy(question.to_plain())
            row.competency, row.content_hash = question.competencies[0], question.content_hash
    return sitting_id


def naming(library: Library, code: str, idea: str = "") -> Question:
    """A question of a family in which an answer can name the idea, and no other idea leads to the same number."""
    profile = library.profile("TV-A", 1)
    return next(
        question
        for question in (library.draw(code, profile, seed) for seed in range(200))
        if not idea or idea in named(question)
    )


def named(question: Question) -> set[str]:
    """The wrong ideas that answers to a question can name."""
    found = {option.wrong_idea for option in question.options}
    for at, blank in enumerate(question.blanks):
        for idea in blank.ideas:
            answers: list[NumericAnswer | None] = [None] * len(question.blanks)
            answers[at] = NumericAnswer(value=idea.value, unit=blank.units[0])
            found |= grade_numbers(question, answers).ideas
    return found


def answer_with(small: SmallService, sitting_id: str, position: int, idea: str = "", *, name: str = "mira") -> None:
    """Answer a question as somebody with a wrong idea would, or right where none is named."""
    with small.acting(name, at=small.now + LATER) as act:
        row = act.session.scalars(
            select(SittingQuestion).where(
                SittingQuestion.sitting_id == sitting_id, SittingQuestion.position == position
            )
        ).one()
        question, sitting = Question.from_plain(row.frozen), act.session.get_one(Sitting, sitting_id)
        record_answer(
            act, sitting_id, position, _response(question, sitting.seed, position, idea),
            act_key=f"answer-{name}-{sitting_id[-4:]}-{position}", seen_revision=0,
        )  # fmt: skip


def _response(question: Question, seed: str, position: int, idea: str) -> Response:
    if question.options:
        wanted = next(one for one in question.options if (one.wrong_idea == idea if idea else one.is_key))
        return Response(option=option_token(seed, position, wanted.name))
    if question.steps:
        return Response(order=[step.name for step in question.steps])
    texts = [next((one.printed for one in blank.ideas if one.name == idea), blank.key_printed)
             for blank in question.blanks]  # fmt: skip
    return Response(texts=texts, units=[blank.units[0] for blank in question.blanks])


def handed_in_by(small: SmallService, sitting_id: str, name: str = "mira") -> None:
    """Hand a sitting in."""
    with small.acting(name, at=small.now + LATER) as act:
        submit_sitting(act, sitting_id)
