"""The questions that a change of a key reaches, and each of them with its corrected key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Scope
from quizapp.assessment.corrected_key import Correction, corrected_question, redrawn_question
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotFound
from quizapp.services.act import Act
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import SittingQuestion


@dataclass(frozen=True, kw_only=True)
class KeyChange:
    """What a reviewer wants done to a key: the outcome, for whom, and the correction."""

    outcome: ChallengeOutcome
    scope: Scope
    correction: Correction


def questions_met(act: Act, challenged: SittingQuestion, scope: Scope) -> list[SittingQuestion]:
    """The questions of this version of the family; for one draw those with the very same numbers."""
    rows = act.session.scalars(
        select(SittingQuestion)
        .where(
            SittingQuestion.family == challenged.family, SittingQuestion.content_hash == challenged.content_hash
        )
        .order_by(SittingQuestion.id)
    )  # fmt: skip
    if scope is Scope.FAMILY:
        return list(rows)
    this = Question.from_plain(challenged.frozen)
    return [row for row in rows if Question.from_plain(row.frozen).asks_the_same_as(this)]


def corrected_keys(
    library: Library,
    challenged: SittingQuestion,
    rows: Sequence[SittingQuestion],
    asked: Mapping[str, Sequence[AskedQuestion]],
    wanted: KeyChange,
) -> dict[str, Question | None]:
    """Return each question with its corrected key; None where nothing is corrected or the file draws other numbers.

    `asked`: every place of the sittings concerned. Raises BadInput where the correction does not fit.
    """
    if wanted.outcome is not ChallengeOutcome.CORRECTED:
        return dict.fromkeys((row.id for row in rows), None)
    first = Question.from_plain(challenged.frozen)
    if wanted.correction.is_from_file:
        return _keys_of_the_file(library, first, rows, asked)
    if wanted.scope is Scope.FAMILY and first.blanks:
        raise BadInput(
            "A number is right for one draw only. Correct this draw, or put the corrected file in its place first and "
            "take the key from there. Nothing was changed.",
            field="scope",
        )
    return {row.id: corrected_question(Question.from_plain(row.frozen), wanted.correction) for row in rows}


def file_is_corrected(library: Library, question: Question) -> bool:
    """Whether the folder now holds another version of a question's family than the one that was asked."""
    family = library.families.get(question.family)
    return family is not None and family.content_hash != question.content_hash


def _keys_of_the_file(
    library: Library,
    first: Question,
    rows: Sequence[SittingQuestion],
    asked: Mapping[str, Sequence[AskedQuestion]],
) -> dict[str, Question | None]:
    if not file_is_corrected(library, first):
        raise BadInput(
            "The file of this family is still the one that was asked, so there is no corrected key in it yet. "
            "Nothing was changed.",
            field="key_from",
        )
    found: dict[str, Question | None] = {}
    for row in rows:
        question = Question.from_plain(row.frozen)
        before = tuple(one.question for one in asked[row.sitting_id] if one.position < row.position)
        found[row.id] = redrawn_question(question, _drawn_again(library, question, before))
    return found


def _drawn_again(library: Library, question: Question, before: tuple[Question, ...]) -> Question:
    try:
        profile = library.profile(question.profile_code, question.profile_revision)
        return library.draw(question.family, profile, question.seed, unlike=before)
    except (NotFound, ValueError) as fault:
        raise BadInput(
            f"The corrected file cannot be drawn again: {fault} Nothing was changed.", field="key_from"
        ) from None
