"""A question with its key put right, and the better of two grades: nobody loses by a key that was wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from quizapp.assessment.challenges import Effect
from quizapp.assessment.grading import FULL, NONE, Grade, is_within
from quizapp.assessment.questions import Blank, Option, Question, Step
from quizapp.errors import BadInput


@dataclass(frozen=True, kw_only=True)
class CorrectedBlank:
    """The right number of one blank and its tolerance (0 and up), both in the first unit of the blank."""

    name: str
    key: Decimal
    tolerance: Decimal


@dataclass(frozen=True, kw_only=True)
class Correction:
    """What is put right: numbers, the options that are right, or pairs of steps (first, then) that need no order.

    `is_from_file`: the key is that of the corrected family file, drawn again with the same numbers.
    """

    blanks: tuple[CorrectedBlank, ...] = ()
    right_options: tuple[str, ...] = ()
    free_pairs: tuple[str, ...] = ()
    is_from_file: bool = False


PAIR_MARK = " before "


def pair_name(first: str, then: str) -> str:
    """Return the one text that stands for a pair of steps."""
    return f"{first}{PAIR_MARK}{then}"


def corrected_question(question: Question, correction: Correction) -> Question:
    """Return the question with the corrected key; the line that was worked with the old key goes.

    Raises BadInput (its field named) where the correction does not fit the question or changes nothing.
    """
    if question.options:
        changed = replace(question, options=_options(question, correction), worked="")
    elif question.steps:
        changed = replace(question, steps=_steps(question, correction), worked="")
    else:
        changed = replace(question, blanks=_blanks(question, correction), worked="")
    if replace(changed, worked=question.worked) == question:
        raise BadInput("This is the key as it was, so nothing would be corrected. Enter the right one.", field="key_0")
    return changed


def redrawn_question(question: Question, redrawn: Question) -> Question | None:
    """Return the key of a corrected file for the same numbers, None where the file now draws others."""
    return redrawn if redrawn.asks_the_same_as(question) else None


def _blanks(question: Question, correction: Correction) -> tuple[Blank, ...]:
    wanted = {one.name: one for one in correction.blanks}
    if set(wanted) != {blank.name for blank in question.blanks}:
        raise BadInput("Enter the right number for each blank; nothing was changed.", field="key_0")
    return tuple(_blank(blank, wanted[blank.name]) for blank in question.blanks)


def _blank(blank: Blank, wanted: CorrectedBlank) -> Blank:
    """Put the key right; a wrong idea that now leads to the right number is no wrong idea here."""
    if wanted.tolerance < NONE:
        raise BadInput("A tolerance is 0 or more; nothing was changed.", field="tolerance_0")
    ideas = tuple(
        idea for idea in blank.ideas if not is_within(idea.value, wanted.key, wanted.tolerance + idea.tolerance)
    )
    printed = blank.key_printed if wanted.key == blank.key else f"{wanted.key:f}"
    return replace(
        blank,
        key=wanted.key,
        key_printed=printed,
        tolerance=wanted.tolerance,
        ideas=ideas,
        low=min(blank.low, wanted.key),
        high=max(blank.high, wanted.key),
    )


def _options(question: Question, correction: Correction) -> tuple[Option, ...]:
    names = {option.name for option in question.options}
    right = set(correction.right_options)
    if not right or not right <= names:
        raise BadInput("Tick every option that is right, at least one; nothing was changed.", field="right_options")
    return tuple(_option(option, is_right=option.name in right) for option in question.options)


def _option(option: Option, *, is_right: bool) -> Option:
    if is_right == option.is_key:
        return option
    credit = FULL if is_right else NONE
    return replace(option, is_key=is_right, credit=credit, wrong_idea="", says="" if is_right else option.says)


def _steps(question: Question, correction: Correction) -> tuple[Step, ...]:
    free = set(correction.free_pairs)
    pairs = {pair_name(first, step.name) for step in question.steps for first in step.after}
    if not free or not free <= pairs:
        raise BadInput("Tick at least one pair that needs no order; nothing was changed.", field="free_pairs")
    return tuple(
        replace(step, after=tuple(first for first in step.after if pair_name(first, step.name) not in free))
        for step in question.steps
    )


def better_grade(before: Grade, after: Grade) -> tuple[Grade, Effect]:
    """Return the grade that counts after a correction and what it does: it may rise or stay, never fall."""
    falls = after.credit < before.credit or (before.is_correct and not after.is_correct)
    if falls or (after.is_dangerous and not before.is_dangerous):
        return before, Effect.KEPT
    is_better = after.credit > before.credit or (before.is_dangerous and not after.is_dangerous)
    return after, Effect.RAISED if is_better or after.is_correct != before.is_correct else Effect.SAME
