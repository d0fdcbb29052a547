"""Formulas of content files: exact arithmetic, a closed list of parts, and no text that does anything else."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.formula import FormulaFault, Kind, parse_formula

NAMES = {
    "peak": Decimal(20),
    "water": Decimal(2),
    "zero": Decimal(0),
    "profile.baseline_ratio": Decimal("0.20"),
    "profile.single_patient_use": True,
    "case.hoist": False,
}
TRUTHS = {"profile.single_patient_use", "case.hoist"}


def number(text: str) -> Decimal:
    return parse_formula(text, TRUTHS).number(NAMES)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.1 + 0.2", "0.3"),
        ("peak * profile.baseline_ratio", "4"),
        ("-peak + 3", "-17"),
        ("+peak", "20"),
        ("2 + 3 * 4 ** 2 / 8", "8"),
        ("(1 - 0.21) / 0.79", "1"),
        ("2 ** -2", "0.25"),
        ("min(3, 2, 5) + max(1, 2)", "4"),
        ("ceil(2.1) + floor(2.9) + abs(-3)", "8"),
        ("ceil(-2.1)", "-2"),
        ("round(2.5) + round(0.25, 1)", "3.3"),
        ("round(-2.5)", "-3"),
        ("sqrt(16)", "4"),
        ("1 if peak > 19 and not case.hoist else 2", "1"),
        ("1 if case.hoist or peak != 20 else 2", "2"),
        ("1 if 10 < peak <= 20 else 2", "1"),
        ("5 if profile.single_patient_use else 6", "5"),
    ],
)
def test_value(text: str, value: str) -> None:
    assert number(text) == Decimal(value)


def test_exp_and_ln_to_published_digits() -> None:
    """Digits of e and of ln 2: NIST Digital Library of Mathematical Functions, 4.2 and 3.12 (from memory)."""
    assert str(number("exp(1)")).startswith("2.718281828459045235")
    assert str(number("ln(2)")).startswith("0.693147180559945309")


def test_functions_of_the_model_keep_six_digits() -> None:
    assert number("remaining_fraction(1, 1)") == Decimal("0.367879")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("peak +", "cannot be read"),
        ("__import__('os')", 'holds "\'"'),
        ("().__class__", "a point may only follow"),
        ("peak.real", "a point may only follow"),
        ("profile.baseline_ratio.real", "a point may only follow"),
        ("profile", "needs a field"),
        ("peak[0]", "holds '['"),
        ("lambda: 1", "holds ':'"),
        ("(x := 1)", "holds ':'"),
        ("eval(1)", "eval is not one of the functions"),
        ("min(1)", "min takes 2 to 8 numbers"),
        ("round(1, 2, 3)", "round takes 1 to 2 numbers"),
        ("min(x=1, y=2)", "min takes"),
        ("min(*peak)", "min takes"),
        ("1 // 2", "an operator"),
        ("1e5", "1e5 is not a plain number"),
        ("0x10", "0x10 is not a plain number"),
        ("1_000", "1_000 is not a plain number"),
        ("True", "True is not a plain number"),
        ("1 is 1", "a comparison"),
        ("not peak", "peak is a number where a condition is needed"),
        ("(peak > 1) + 1", "peak > 1 is a condition where a number is needed"),
        ("1 if peak else 2", "peak is a number where a condition is needed"),
        ("1 if peak > 2 else case.hoist", "of one kind"),
        ("peak, water", "may not hold"),
        ("-" * 60 + "1", "nested more than 40 deep"),
        ("(" * 300, "cannot be read"),
        ("1 + " * 200 + "1", "at most 400"),
    ],
)
def test_refused_when_read(text: str, words: str) -> None:
    with pytest.raises(FormulaFault) as caught:
        parse_formula(text, TRUTHS)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1 / zero", "divides by zero"),
        ("zero ** -1", "raises zero"),
        ("2 ** 13", "whole powers"),
        ("2 ** 0.5", "whole powers"),
        ("(999999999999 ** 12)", "too large"),
        ("sqrt(-1)", "sqrt takes zero and numbers above"),
        ("ln(zero)", "ln takes numbers above zero"),
        ("exp(1000)", "exp takes numbers from"),
        ("round(1, 9)", "round rounds to 0 to 6 decimals"),
        ("unknown + 1", "unknown has no value here"),
        ("time_constant_s(-5, 50)", "time_constant_s refuses these numbers"),
        ("device_volume_ml(1, 1, 1, 1, 1, 1, 1)", "needs a device profile"),
    ],
)
def test_refused_when_worked_out(text: str, words: str) -> None:
    formula = parse_formula(text, TRUTHS)
    with pytest.raises(FormulaFault) as caught:
        formula.number(NAMES)
    assert words in str(caught.value)


def test_a_fault_names_the_column() -> None:
    with pytest.raises(FormulaFault) as caught:
        parse_formula("peak + open(1)")
    assert caught.value.column == 8


def test_a_formula_knows_its_names_and_kind() -> None:
    formula = parse_formula("peak > profile.baseline_ratio")
    assert formula.names == {"peak", "profile.baseline_ratio"}
    assert formula.kind is Kind.TRUTH
    with pytest.raises(FormulaFault):
        formula.number(NAMES)


def check_harmless(text: str) -> None:
    """Only a finite value or a FormulaFault may come out of any text."""
    try:
        formula = parse_formula(text, TRUTHS)
        value = formula.number(NAMES) if formula.kind is Kind.NUMBER else formula.truth(NAMES)
    except FormulaFault:
        return
    assert isinstance(value, bool) or value.is_finite()


@given(st.text(max_size=60))
def test_any_text_gives_a_value_or_a_fault(text: str) -> None:
    check_harmless(text)


WORDS = "peak|zero|profile.baseline_ratio|exp|min|round|ln|0.5|12|999999999999|case.hoist|__class__|open|device_state"
PIECES = st.sampled_from([*"+-*/()<>,.", "**", " if ", " else ", " and ", "not ", "import ", *WORDS.split("|")])


@given(st.lists(PIECES, max_size=14).map("".join))
def test_any_arrangement_of_pieces_gives_a_value_or_a_fault(text: str) -> None:
    check_harmless(text)
