"""An order given one button at a time, the two lists for keys and screen readers included."""

from __future__ import annotations

import pytest

from quizapp.web.placing import changed_order, read_order


@pytest.mark.parametrize(
    ("put", "after", "becomes"),
    [
        ("3", "1", ["1", "3", "2"]),
        ("1", "3", ["2", "3", "1"]),
        ("2", "", ["2", "1", "3"]),
        ("4", "1", ["1", "4", "2", "3"]),
        ("1", "4", ["2", "3", "1"]),
        ("1", "1", ["1", "2", "3"]),
        ("9", "1", ["1", "2", "3"]),
        ("", "1", ["1", "2", "3"]),
    ],
)
def test_a_step_is_put_right_after_another(put: str, after: str, becomes: list[str]) -> None:
    sent = {"place": "yes", "put_step": put, "put_after": after}
    assert changed_order(["1", "2", "3"], sent, 4) == becomes


def test_the_two_lists_alone_change_nothing() -> None:
    sent = {"give": "4", "put_step": "3", "put_after": ""}
    assert changed_order(read_order("1,2", 4), sent, 4) == ["1", "2", "4"]
