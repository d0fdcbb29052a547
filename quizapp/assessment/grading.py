"""Grades an answer to a frozen question and names the wrong idea behind it, by exact decimal arithmetic.

A band includes its ends. A number that fits two wrong ideas stays unnamed and counts for neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from quizapp.assessment.families import Danger
from quizapp.assessment.formula_arithmetic import CONTEXT
from quizapp.assessment.numbers import Ambiguous, Parsed, PlausibleRange, Refused, read_number
from quizapp.assessment.orders import BrokenPair, broken_pairs
from quizapp.assessment.questions import Blank, Idea, Question
from quizapp.errors import BadInput
from quizapp.ventilation.units import convert

FULL = Decimal(1)
NONE = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class NumericAnswer:
    """A number as read, in one of the blank's units (UCUM code)."""

    value: Decimal
    unit: str


@dataclass(frozen=True, kw_only=True)
class BlankGrade:
    """How one blank was answered. `wrong_idea` is "" where none, or more than one (`is_unnamed`), fits."""

    blank: str
    is_correct: bool
    is_unit_slip: bool = False
    wrong_idea: str = ""
    is_unnamed: bool = False
    is_dangerous: bool = False


@dataclass(frozen=True, kw_only=True)
class Grade:
    """How a question was answered; `credit` is from 0 to 1. `is_dangerous`: it errs in the direction that can hurt."""

    is_correct: bool
    credit: Decimal
    wrong_idea: str = ""
    is_unnamed: bool = False
    is_unit_slip: bool = False
    is_dangerous: bool = False
    blanks: tuple[BlankGrade, ...] = ()
    broken_pairs: tuple[BrokenPair, ...] = ()

    @property
    def ideas(self) -> frozenset[str]:
        """Every wrong idea the answer names, of each blank."""
        return frozenset({self.wrong_idea, *(blank.wrong_idea for blank in self.blanks)} - {""})


def read_blank(blank: Blank, text: str, unit: str = "") -> NumericAnswer | Refused | Ambiguous:
    """Read what was typed into a blank. `unit` is the chosen unit; it may be left out where only one is shown.

    An unreadable number or a missing unit is never marked wrong: it is refused with what to do.
    """
    reading = read_number(text, PlausibleRange(blank.low, blank.high))
    if not isinstance(reading, Parsed):
        return reading
    if not unit and blank.asks_for_unit:
        return Refused("Choose a unit; the number you entered is kept")
    if unit and unit not in blank.units:
        return Refused("Choose one of the units shown; the number you entered is kept")
    return NumericAnswer(value=reading.value, unit=unit or blank.units[0])


def grade_numbers(
    question: Question, answers: Sequence[NumericAnswer | None], *, unit_slip_credit: Decimal = NONE
) -> Grade:
    """Grade one answer per blank, in their order; None stands for not answered.

    unit_slip_credit: what the right number in a wrong unit is worth, 0 to 1 (0 wherever it counts for sign-off).
    Raises BadInput if the number of answers or a unit does not fit the question.
    """
    if len(answers) != len(question.blanks):
        raise BadInput(f"The question asks for {len(question.blanks)} numbers, not {len(answers)}; nothing was stored")
    grades = tuple(_grade_blank(blank, answer) for blank, answer in zip(question.blanks, answers, strict=True))
    if len(grades) == 1:
        return _grade_of_one(grades[0], unit_slip_credit)
    points = sum((_points(grade, unit_slip_credit) for grade in grades), NONE)
    return Grade(
        is_correct=all(grade.is_correct for grade in grades),
        credit=CONTEXT.divide(points, Decimal(len(grades))),
        wrong_idea=next((grade.wrong_idea for grade in grades if grade.wrong_idea), ""),
        is_unnamed=any(grade.is_unnamed for grade in grades),
        is_unit_slip=any(grade.is_unit_slip for grade in grades),
        is_dangerous=any(grade.is_dangerous for grade in grades),
        blanks=grades,
    )


def grade_option(question: Question, chosen: str | None) -> Grade:
    """Grade a chosen option by name; None stands for not answered. Raises BadInput for an unknown option."""
    if chosen is None:
        return Grade(is_correct=False, credit=NONE)
    option = next((option for option in question.options if option.name == chosen), None)
    if option is None:
        raise BadInput("This is not one of the options; choose one of those shown", field="option")
    return Grade(is_correct=option.is_key, credit=option.credit, wrong_idea=option.wrong_idea)


def grade_order(question: Question, order: Sequence[str] | None) -> Grade:
    """Grade an order of the steps by name: right as a whole if no real pair is broken; None: not answered.

    Raises BadInput unless every step is named once.
    """
    if order is None:
        return Grade(is_correct=False, credit=NONE)
    try:
        broken = broken_pairs(question.steps, order)
    except ValueError as error:
        raise BadInput(f"The order cannot be read: {error}; nothing was stored", field="order") from None
    return Grade(is_correct=not broken, credit=NONE if broken else FULL, broken_pairs=broken)


def idea_named(question: Question, blank_name: str, idea_name: str) -> Idea | None:
    """Return the wrong idea a grade names, with its number and sentence, or None."""
    blanks = [blank for blank in question.blanks if blank.name == blank_name]
    return next((idea for blank in blanks for idea in blank.ideas if idea.name == idea_name), None)


def is_within(value: Decimal, target: Decimal, tolerance: Decimal) -> bool:
    """Return whether |value - target| <= tolerance, exactly; on the bound counts as within."""
    return abs(value - target) <= tolerance


def _grade_of_one(grade: BlankGrade, unit_slip_credit: Decimal) -> Grade:
    return Grade(
        is_correct=grade.is_correct,
        credit=_points(grade, unit_slip_credit),
        wrong_idea=grade.wrong_idea,
        is_unnamed=grade.is_unnamed,
        is_unit_slip=grade.is_unit_slip,
        is_dangerous=grade.is_dangerous,
        blanks=(grade,),
    )


def _grade_blank(blank: Blank, answer: NumericAnswer | None) -> BlankGrade:
    if answer is None:
        return BlankGrade(blank=blank.name, is_correct=False)
    if answer.unit not in blank.units:
        raise BadInput(f"{answer.unit} is not one of the units of this question; nothing was stored", field="unit")
    value = answer.value if answer.unit == blank.units[0] else convert(answer.value, answer.unit, blank.units[0])
    if is_within(value, blank.key, blank.tolerance):
        return BlankGrade(blank=blank.name, is_correct=True)
    slip = _is_right_in_another_unit(blank, answer)
    fits = [] if slip else [idea.name for idea in blank.ideas if is_within(value, idea.value, idea.tolerance)]
    return BlankGrade(
        blank=blank.name,
        is_correct=False,
        is_unit_slip=slip,
        wrong_idea=fits[0] if len(fits) == 1 else "",
        is_unnamed=len(fits) > 1,
        is_dangerous=_errs_dangerously(blank, value),
    )


def _is_right_in_another_unit(blank: Blank, answer: NumericAnswer) -> bool:
    if len(blank.units) == 1:
        return False
    others = (unit for unit in blank.units if unit != answer.unit)
    return any(is_within(convert(answer.value, unit, blank.units[0]), blank.key, blank.tolerance) for unit in others)


def _errs_dangerously(blank: Blank, value: Decimal) -> bool:
    """Call only for a wrong answer: beyond the band on the side that can hurt."""
    if blank.danger is Danger.TOO_HIGH:
        return value > blank.key
    return blank.danger is Danger.TOO_LOW and value < blank.key


def _points(grade: BlankGrade, unit_slip_credit: Decimal) -> Decimal:
    if grade.is_correct:
        return FULL
    return unit_slip_credit if grade.is_unit_slip else NONE
