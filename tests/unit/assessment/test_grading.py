"""Grading: bounds belong to the band, the wrong idea is named, the dangerous direction is seen."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quizapp.assessment.drawing import resolved_tolerance
from quizapp.assessment.grading import (
    Grade,
    NumericAnswer,
    grade_numbers,
    grade_option,
    grade_order,
    idea_named,
    is_within,
    read_blank,
)
from quizapp.assessment.numbers import Ambiguous, Refused
from quizapp.assessment.question_generator import draw_question
from quizapp.assessment.questions import Blank, Question
from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from quizapp.content.profiles import read_profiles
from quizapp.errors import BadInput
from tests.sample_families import CHECKOUT, CHOICE, NUMERIC, ORDER, READING

PROFILE = read_profiles(CHECKOUT)[0]["tv-a-1"].profile


def draw(text: str, seed: int = 4) -> Question:
    code = text.split('code = "')[1][:3].lower()
    family, faults = read_family(parse_document(f"question_bank/c5/{code}-x.md", text.encode()))
    assert family is not None, faults
    return draw_question(family, PROFILE, seed)


def volume(seed: int = 4) -> tuple[Question, Blank]:
    question = draw(NUMERIC, seed)
    return question, question.blanks[0]


def answer(question: Question, value: Decimal | str, unit: str = "L", slip: str = "0") -> Grade:
    return grade_numbers(question, [NumericAnswer(value=Decimal(value), unit=unit)], unit_slip_credit=Decimal(slip))


def test_the_bound_is_within() -> None:
    """Target 40.8, tolerance 0.5 or 2 %: band 39.984 to 41.616 (constructed; 2 % of 40.8 is 0.816)."""
    question, blank = volume()
    design = draw(NUMERIC).blanks[0]
    assert design.tolerance == max(Decimal("0.5"), design.key / 50)
    fixed = replace(blank, key=Decimal("40.8"), tolerance=Decimal("0.816"), ideas=())
    question = replace(question, blanks=(fixed,))
    for value, is_right in (("39.984", True), ("41.616", True), ("39.983", False), ("41.617", False)):
        assert answer(question, value).is_correct is is_right


def test_tolerance_is_the_larger_of_both() -> None:
    family, _ = read_family(parse_document("question_bank/c5/n99-x.md", NUMERIC.encode()))
    assert family is not None
    (design,) = family.blanks
    assert resolved_tolerance(design, Decimal("40.8")) == Decimal("0.816")
    assert resolved_tolerance(design, Decimal("-40.8")) == Decimal("0.816")
    assert resolved_tolerance(design, Decimal(10)) == Decimal("0.5")
    exactly = replace(design, tolerance=Decimal(0), tolerance_percent=None)
    assert resolved_tolerance(exactly, Decimal(10)) == 0
    assert is_within(Decimal("0.3"), Decimal("0.1") + Decimal("0.2"), Decimal(0))


def test_the_right_amount_in_another_unit_is_right() -> None:
    question, blank = volume()
    assert answer(question, blank.key * 1000, "mL").is_correct


def test_the_right_number_in_the_wrong_unit_is_a_unit_slip() -> None:
    question, blank = volume()
    grade = answer(question, blank.key, "mL")
    assert (grade.is_correct, grade.is_unit_slip, grade.credit) == (False, True, 0)
    assert not grade.is_dangerous
    assert answer(question, blank.key, "mL", slip="0.5").credit == Decimal("0.5")
    too_much = answer(question, blank.key * 1000, "L")
    assert too_much.is_unit_slip
    assert too_much.is_dangerous


def test_a_wrong_idea_is_named_and_two_that_fit_are_not() -> None:
    question, blank = volume()
    flow = question.drawn[0].value
    grade = answer(question, flow)
    assert (grade.wrong_idea, grade.is_unnamed, grade.is_dangerous) == ("per-minute", False, False)
    idea = idea_named(question, "key", grade.wrong_idea)
    assert idea is not None
    assert idea.says == "You left the time out."
    doubled = answer(question, 2 * blank.key)
    assert (doubled.wrong_idea, doubled.is_unnamed, doubled.is_dangerous) == ("", True, True)
    assert answer(question, "0").wrong_idea == ""


def test_the_idea_has_its_own_tolerance() -> None:
    question, _ = volume()
    flow = question.drawn[0].value
    assert answer(question, flow + Decimal("0.5")).wrong_idea == "per-minute"
    assert answer(question, flow + Decimal("0.51")).wrong_idea == ""


@pytest.mark.parametrize(("safety", "low", "high"), [('"too high"', False, True), ('"too low"', True, False)])
def test_the_dangerous_direction(safety: str, low: bool, high: bool) -> None:
    question = draw(NUMERIC.replace('"too high"', safety))
    key, tolerance = question.blanks[0].key, question.blanks[0].tolerance
    assert answer(question, key - tolerance - 1).is_dangerous is low
    assert answer(question, key + tolerance + 1).is_dangerous is high
    assert not answer(question, key + tolerance).is_dangerous


def test_without_a_safety_quantity_nothing_is_dangerous() -> None:
    question = draw(NUMERIC.replace('safety = "too high"', ""))
    assert not answer(question, "600").is_dangerous


def test_two_blanks_share_the_credit() -> None:
    question = draw(READING)
    peak, baseline = question.blanks
    right = [NumericAnswer(value=blank.key, unit=blank.units[0]) for blank in (peak, baseline)]
    assert grade_numbers(question, right).is_correct
    half = grade_numbers(question, [right[0], NumericAnswer(value=peak.key, unit=peak.units[0])])
    assert (half.is_correct, half.credit, half.wrong_idea) == (False, Decimal("0.5"), "baseline-as-peak")
    assert [blank.is_correct for blank in half.blanks] == [True, False]
    assert grade_numbers(question, [None, None]) == replace(grade_numbers(question, [None, None]), credit=Decimal(0))
    assert not grade_numbers(question, [None, None]).is_dangerous
    with pytest.raises(BadInput, match="asks for 2 numbers"):
        grade_numbers(question, right[:1])


def test_reading_what_was_typed() -> None:
    _, blank = volume()
    assert read_blank(blank, "12,5", "mL") == NumericAnswer(value=Decimal("12.5"), unit="mL")
    missing = read_blank(blank, "12,5")
    assert isinstance(missing, Refused)
    assert "Choose a unit" in missing.message
    assert isinstance(read_blank(blank, "12", "bar"), Refused)
    assert isinstance(read_blank(replace(blank, high=Decimal(2000)), "1,234", "L"), Ambiguous)
    peak = draw(READING).blanks[0]
    assert read_blank(peak, "20") == NumericAnswer(value=Decimal(20), unit="cm[H2O]")
    with pytest.raises(BadInput, match="not one of the units"):
        answer(volume()[0], "1", "bar")


def test_options() -> None:
    question = next(question for seed in range(40) if (question := draw(CHOICE, seed)).case == "shut")
    by_name = {option.name: option for option in question.options}
    assert grade_option(question, "expiration") == Grade(is_correct=True, credit=Decimal(1))
    assert grade_option(question, None) == Grade(is_correct=False, credit=Decimal(0))
    for name in by_name.keys() - {"expiration"}:
        grade = grade_option(question, name)
        assert (grade.is_correct, grade.credit) == (False, {"inflation": Decimal("0.5")}.get(name, Decimal(0)))
        assert grade.wrong_idea == by_name[name].wrong_idea
    with pytest.raises(BadInput, match="not one of the options"):
        grade_option(question, "neither")


def test_orders() -> None:
    question = draw(ORDER)
    for order in (["bag", "search", "call", "reconnect"], ["call", "bag", "search", "reconnect"]):
        assert grade_order(question, order).is_correct
    grade = grade_order(question, ["search", "bag", "call", "reconnect"])
    assert not grade.is_correct
    (pair,) = grade.broken_pairs
    assert (pair.first, pair.second) == ("bag", "search")
    assert "cannot wait" in pair.because
    assert grade_order(question, None).credit == 0
    with pytest.raises(BadInput, match="every step exactly once"):
        grade_order(question, ["bag", "bag", "search", "call"])
