"""Thousands of broken and hostile formulas and answers: a value or a refusal, quickly, and nothing off the list.

2,000 of each in the ordinary run; 50,000 by `python3 dev.py test -m soak tests/unit/assessment/test_fuzzed_texts.py`.
"""

from __future__ import annotations

import ast
import time
from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest

from quizapp.assessment.formula import PREFIXES, Formula, FormulaFault, Kind, parse_formula
from quizapp.assessment.formula_functions import FUNCTIONS
from quizapp.assessment.number_stream import NumberStream
from quizapp.assessment.numbers import Ambiguous, Parsed, PlausibleRange, Refused, read_number
from quizapp.content.profiles import read_profiles
from tests.sample_families import CHECKOUT

LONGEST_S = 0.050
"""Time of the processor, not of the clock: other programs on the machine must not decide."""

COUNTS = [2_000, pytest.param(50_000, marks=pytest.mark.soak)]
NAMES = {
    "peak": Decimal(20),
    "zero": Decimal(0),
    "profile.baseline_ratio": Decimal("0.20"),
    "case.hoist": False,
    "profile": read_profiles(CHECKOUT)[0]["tv-a-1"].profile,
}
LISTED = (
    ast.Constant, ast.Name, ast.Attribute, ast.UnaryOp, ast.BinOp, ast.Compare, ast.BoolOp, ast.IfExp, ast.Call,
    ast.Load, ast.operator, ast.unaryop, ast.cmpop, ast.boolop,
)  # fmt: skip
OPERATORS = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow)
PIECES = [
    *"+-*/()<>,.=!%@&|^~:;[]{}'\"\\#` \n\t0123456789",
    "**", "//", "==", "<=", ">=", "!=", ":=", "->", " if ", " else ", " and ", " or ", " not ", " in ", " is ",
    "lambda: ", " for x in ", "await ", "yield ", "import ", "0x1F", "1e9", "1_000", "9" * 12, "9" * 40, "99**99**99",
    "peak", "zero", "profile.baseline_ratio", "case.hoist", "profile", "profile.__class__", "other_profile.peak",
    "__import__('os')", "().__class__", "open", "eval", "exec", "getattr", "True", "None", "...", "f'{peak}'",
    *(f"{name}(" for name in FUNCTIONS), "(" * 60, "-" * 60, "\x00", "\u2212", "\uff10", "\u200b", "é",
]  # fmt: skip
DIGITS = [
    *"0123456789+-.,eE xX%/'_\t\n", "\u2212", "\u00a0", "\u2009", "\uff10", "\uff0c", "²", "½", "٣", "\u200b", "\x00",
    "1,234", "1.234", "0,5", "1 000", "nan", "inf", "0x1f", "1e9", "9" * 30, "--", "cmH2O", "10 000,5",
]  # fmt: skip


def texts(name: str, pieces: list[str], longest: int, count: int) -> Iterator[str]:
    """The same texts on every machine: pieces in a drawn number and order."""
    for seed in range(count):
        stream = NumberStream(name, seed)
        yield "".join(pieces[stream.below(len(pieces))] for _ in range(1 + stream.below(longest)))


def timed(do: Callable[[], object]) -> float:
    before = time.thread_time()
    do()
    return time.thread_time() - before


def evaluated(text: str) -> tuple[Formula, Decimal | bool] | None:
    """The formula and its value, None where it was refused."""
    try:
        formula = parse_formula(text, {"case.hoist"})
        return formula, formula.number(NAMES) if formula.kind is Kind.NUMBER else formula.truth(NAMES)
    except FormulaFault:
        return None


def off_the_list(text: str) -> list[str]:
    """What of a text no formula may hold, found by another way: every node of its tree."""
    tree = ast.parse(text.replace("\n", " ").strip(), mode="eval").body
    nodes = list(ast.walk(tree))
    odd = [type(node).__name__ for node in nodes if not isinstance(node, LISTED)]
    odd += [
        type(node.op).__name__ for node in nodes if isinstance(node, ast.BinOp) and not isinstance(node.op, OPERATORS)
    ]
    odd += [ast.dump(node) for node in nodes if isinstance(node, ast.Constant) and type(node.value) not in (int, float)]
    called = [node.func for node in nodes if isinstance(node, ast.Call)]
    odd += [ast.dump(one) for one in called if not (isinstance(one, ast.Name) and one.id in FUNCTIONS)]
    names = {ast.unparse(node) for node in nodes if isinstance(node, (ast.Name, ast.Attribute))}
    known = {*NAMES, *FUNCTIONS, *PREFIXES}
    return odd + sorted(name for name in names if name not in known)


@pytest.mark.parametrize("count", COUNTS)
def test_formulas(count: int) -> None:
    taken = 0
    for text in texts("formulas", PIECES, 12, count):
        assert timed(lambda text=text: evaluated(text)) < LONGEST_S, repr(text)
        found = evaluated(text)
        if found is None:
            continue
        taken += 1
        formula, value = found
        assert isinstance(value, bool) or value.is_finite()
        # What stands in a branch that was not taken is on the list as well, whether or not its name has a value.
        assert [odd for odd in off_the_list(text) if odd not in formula.names] == [], repr(text)
    assert 0 < taken < count / 2


@pytest.mark.parametrize("count", COUNTS)
def test_answers(count: int) -> None:
    kinds = set()
    for text in texts("answers", DIGITS, 8, count):
        assert timed(lambda text=text: read_number(text, PlausibleRange(Decimal(0), Decimal(5000)))) < LONGEST_S
        reading = read_number(text, PlausibleRange(Decimal(0), Decimal(5000)))
        kinds.add(type(reading))
        if isinstance(reading, Refused):
            assert reading.message
        elif isinstance(reading, Ambiguous):
            assert reading.as_decimal.is_finite()
            assert reading.as_thousands.is_finite()
        else:
            assert reading.value.is_finite()
    assert kinds == {Parsed, Refused, Ambiguous}


@pytest.mark.parametrize(
    "text", ["__import__('os')", "peak.real", "open(peak)", "peak // 2", "[peak]", "(lambda: 1)()", "exec"]
)
def test_the_check_by_nodes_sees_what_is_off_the_list(text: str) -> None:
    assert off_the_list(text)
