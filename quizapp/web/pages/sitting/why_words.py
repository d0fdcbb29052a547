"""What an answer is answered with: the finding in one sentence, what follows it, and what part of the credit it is."""

from __future__ import annotations

import re
from decimal import Decimal

from quizapp.assessment.grading import Grade, idea_named
from quizapp.assessment.questions import Option, Question
from quizapp.services.record_answer import option_token
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting

NEXT_SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")
SHARES = {Decimal("0.25"): "a quarter", Decimal("0.5"): "half", Decimal("0.75"): "three quarters"}


def chosen_option(sitting: Sitting, asked: AskedQuestion) -> Option | None:
    """Return the option that was chosen, None where none was."""
    token = asked.answer.response["option"] if asked.answer else ""
    return next(
        (one for one in asked.question.options if option_token(sitting.seed, asked.position, one.name) == token), None
    )


def headline(question: Question, grade: Grade | None, chosen: Option | None) -> str:
    """Return the finding of the page in one sentence."""
    if grade is None or grade.is_correct or grade.is_unit_slip:
        return _plain_headline(grade)
    said = _said(question, grade, chosen)
    if len(said) == 1:
        return NEXT_SENTENCE.split(said[0])[0]
    if grade.is_unnamed:
        return "That number fits two wrong ideas, so neither is counted."
    if grade.broken_pairs:
        return "Some steps came before what they depend on."
    return "That is not right, and no known wrong idea leads there."


def following_sentences(question: Question, grade: Grade | None, chosen: Option | None) -> tuple[str, ...]:
    """Return what stands below the headline: the rest of what it began, or what each of several ideas is told."""
    if grade is None or grade.is_correct:
        return ()
    said = () if grade.is_unit_slip else _said(question, grade, chosen)
    rest = tuple(said) if len(said) > 1 else tuple(" ".join(NEXT_SENTENCE.split(one)[1:]) for one in said)
    return tuple(filter(None, (*rest, _credit_words(question, grade))))


def _plain_headline(grade: Grade | None) -> str:
    if grade is None:
        return "You left this one open."
    return "That is right." if grade.is_correct else "The number is right, the unit is not."


def _said(question: Question, grade: Grade, chosen: Option | None) -> tuple[str, ...]:
    if chosen is not None:
        return (chosen.says,) if chosen.says else ()
    found = [idea_named(question, one.blank, one.wrong_idea) for one in grade.blanks if one.wrong_idea]
    return tuple(idea.says for idea in found if idea is not None)


def _credit_words(question: Question, grade: Grade) -> str:
    """Say what part of the credit an answer has, where it has a part."""
    if not 0 < grade.credit < 1:
        return ""
    share = SHARES.get(grade.credit, f"{100 * grade.credit:.0f} %")
    if question.options:
        return f"This choice is worth {share} of the credit; the question counts as right with the best one only."
    if grade.is_unit_slip and len(grade.blanks) == 1:
        return f"In practice the right number in a wrong unit is worth {share} of the credit; in an assessment nothing."
    right = sum(one.is_correct for one in grade.blanks)
    return f"{right} of {len(grade.blanks)} numbers is right; the question counts as right when all are."
