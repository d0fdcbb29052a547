"""Typed numbers: the table of what is taken, what is refused with which words, and what is asked about."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.numbers import Ambiguous, Parsed, PlausibleRange, Refused, read_number

PLAUSIBLE = PlausibleRange(Decimal(0), Decimal(2000))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        ("12.5", "12.5"),
        ("12,5", "12.5"),
        ("１２", "12"),
        ("１２．５", "12.5"),
        ("－１２，５", "-12.5"),
        ("\u22125", "-5"),
        ("+5", "5"),
        ("-0", "0"),
        ("-0.0", "0"),
        (" 12 ", "12"),
        ("\u00a012\u2009", "12"),
        ("0.5", "0.5"),
        ("0,234", "0.234"),
        ("007", "7"),
        ("999999.9999", "999999.9999"),
    ],
)
def test_taken(text: str, value: str) -> None:
    reading = read_number(text, PLAUSIBLE)
    assert isinstance(reading, Parsed)
    assert reading.value == Decimal(value)
    assert not (reading.value.is_signed() and reading.value == 0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Enter a number"),
        ("   ", "Enter a number"),
        ("٣", "Use the digits 0–9"),
        ("1e400", "Write the number out, for example 1000"),
        ("1e5", "Write the number out"),
        ("0x10", "Write the number out"),
        ("1_000", "Write the number out"),
        ("NaN", "only the number"),
        ("inf", "only the number"),
        ("½", "only the number"),
        ("12²", "digits 0–9"),
        ("①②", "digits 0–9"),
        ("12\n", "only the number"),
        ("12 cmH2O", "the unit is already shown"),
        ("12cmH2O", "the unit is already shown"),
        ("12 L/min", "the unit is already shown"),
        ("12..", "only the number"),
        ("12.", "a digit after the point"),
        (".5", "zero before the point, for example 0.5"),
        (",5", "zero before the point"),
        ("1,234.5", "without separators"),
        ("1 234", "without separators"),
        ("5" * 5000, "only the number"),
        ("1234567", "too large"),
        ("1.23456", "at most four digits after"),
        ("\x00", "only the number"),
        ("1\u200b2", "only the number"),
        ("--1", "only the number"),
    ],
)
def test_refused_with_words_that_help(text: str, words: str) -> None:
    reading = read_number(text, PLAUSIBLE)
    assert isinstance(reading, Refused)
    assert words in reading.message


@pytest.mark.parametrize("text", ["1,234", "1.234", "１，２３４"])
def test_a_text_with_two_meanings_is_asked_about(text: str) -> None:
    reading = read_number(text, PLAUSIBLE)
    assert reading == Ambiguous(Decimal("1.234"), Decimal(1234))
    assert reading.message == "Did you mean 1234 or 1.234?"


def test_it_is_not_asked_about_where_only_one_meaning_fits() -> None:
    assert read_number("1,234", PlausibleRange(Decimal(0), Decimal(5))) == Parsed(Decimal("1.234"))
    assert read_number("1,234") == Parsed(Decimal("1.234"))
    assert read_number("0,234", PLAUSIBLE) == Parsed(Decimal("0.234"))


ODD = "0123456789+-., eE_xX\u2212\u00a0\u2009０９．，－²½①٣\u200b\n\x00%a"


@given(st.one_of(st.text(max_size=40), st.text(alphabet=ODD, max_size=34)))
def test_always_a_finite_value_or_a_refusal(text: str) -> None:
    reading = read_number(text, PLAUSIBLE)
    if isinstance(reading, Refused):
        assert reading.message
    else:
        values = [reading.value] if isinstance(reading, Parsed) else [reading.as_decimal, reading.as_thousands]
        assert all(value.is_finite() and not (value == 0 and value.is_signed()) for value in values)


@given(st.from_regex(re.compile(r"[+-]?[0-9]{1,6}([.,][0-9]{1,4})?", re.ASCII), fullmatch=True))
def test_everything_of_the_grammar_is_taken_exactly(text: str) -> None:
    reading = read_number(text)
    assert isinstance(reading, Parsed)
    assert reading.value == Decimal(text.replace(",", "."))
