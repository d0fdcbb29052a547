"""Common practice, no source: a baseline of one quarter of a peak of 24 is 6."""

from decimal import Decimal

from quizapp.assessment.formula import parse_formula


def test_a_quarter_of_the_peak() -> None:
    formula = parse_formula("ratio * peak")
    assert formula.number({"ratio": Decimal("0.25"), "peak": Decimal(24)}) == 6
