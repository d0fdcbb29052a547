"""Check codes: drawn clear, read as people type, and a slip of the pen is seen."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.check_codes import (
    ALPHABET,
    CLEAR,
    LENGTH,
    check_character,
    code_from,
    is_whole,
    read_code,
    written,
)

SEEDS = st.text("0123456789abcdef", min_size=32, max_size=64)


@given(SEEDS)
def test_a_code_is_read_as_it_was_written(seed: str) -> None:
    code = code_from(seed)
    assert len(code) == LENGTH
    assert set(code) <= set(CLEAR)
    assert read_code(written(code)) == code
    assert read_code(f"  {written(code).lower().replace('-', ' ')} ") == code
    assert read_code(code.replace("0", "O").replace("1", "l")) == code


@given(SEEDS, st.integers(0, LENGTH - 1), st.sampled_from(CLEAR))
def test_every_single_wrong_character_is_seen(seed: str, place: int, other: str) -> None:
    code = code_from(seed)
    changed = code[:place] + other + code[place + 1 :]
    assert (read_code(changed) == code) == (changed == code)
    assert changed == code or read_code(changed) is None


def test_nearly_every_exchange_of_neighbours_is_seen() -> None:
    seen = missed = 0
    for number in range(2000):
        code = code_from(str(number))
        for place in range(LENGTH - 1):
            changed = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
            if changed != code:
                seen += read_code(changed) is None
                missed += read_code(changed) is not None
    assert missed / (seen + missed) < 0.01


@pytest.mark.parametrize(
    "text", ["", "K7F2", "K7F2-9QXM-3HT", "K7F2-9QXM-3HTDD", "U" * 12, "é" * 12, "1" * 5000, "\x00" * 12]
)
def test_what_cannot_be_a_code_is_none(text: str) -> None:
    assert read_code(text) is None


def test_codes_do_not_repeat() -> None:
    assert len({code_from(str(number)) for number in range(5000)}) == 5000


@given(st.text(ALPHABET, min_size=1, max_size=40))
def test_the_check_character_makes_it_whole(text: str) -> None:
    assert is_whole(text + check_character(text))
