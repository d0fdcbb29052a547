"""What may be written about a person."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizapp.assessment.person_fields import (
    read_email,
    read_profession,
    read_sign_in_name,
    read_staff_number,
    staff_number_key,
    without_leading_zeros,
)
from quizapp.errors import BadInput


@pytest.mark.parametrize(("text", "kept"), [(" A-17 ", "A-17"), ("007", "007"), ("１２", "12"), ("a/b.c_d", "a/b.c_d")])
def test_staff_numbers_are_kept_as_they_are_but_for_their_form(text: str, kept: str) -> None:
    assert read_staff_number(text) == kept


@pytest.mark.parametrize(
    "text", ["", "-1", "1-", "a b", "=1+1", "x" * 33, "é1", "1\x00", "²³é", "<b>", "1.23E+05", "1,5e7"]
)
def test_what_is_no_staff_number(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_staff_number(text)
    assert refused.value.field == "staff_number"


def test_the_spreadsheets_power_of_ten_is_named() -> None:
    with pytest.raises(BadInput, match="digits are lost"):
        read_staff_number("1.23E+05")


def test_staff_numbers_are_compared_without_case_and_seen_without_zeros() -> None:
    assert staff_number_key("a-1") == staff_number_key("A-1")
    assert without_leading_zeros("007") == without_leading_zeros("7")
    assert without_leading_zeros("000") == "0"


@pytest.mark.parametrize(("text", "kept"), [("Ada", "ada"), (" a.b@c.org ", "a.b@c.org"), ("x_1+2-3", "x_1+2-3")])
def test_sign_in_names_are_folded(text: str, kept: str) -> None:
    assert read_sign_in_name(text) == kept


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (read_sign_in_name, "ab"), (read_sign_in_name, ".abc"), (read_sign_in_name, "a b c"),
        (read_sign_in_name, "x" * 65), (read_sign_in_name, "ådne"), (read_profession, "  "),
        (read_profession, "x" * 101), (read_profession, "a\x07b"), (read_profession, "a\u202eb"),
        (read_email, "no at sign"), (read_email, "a@b c"), (read_email, "a@b@c"), (read_email, "x" * 65 + "@b.org"),
    ],
)  # fmt: skip
def test_what_cannot_be_written(read: Callable[[str], object], text: str) -> None:
    with pytest.raises(BadInput):
        read(text)


def test_an_empty_address_is_none_and_a_formula_stays_text() -> None:
    assert read_email(" ") is None
    assert read_profession("=HYPERLINK(1)") == "=HYPERLINK(1)"
