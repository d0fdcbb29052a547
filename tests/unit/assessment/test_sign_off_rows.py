"""Sign-offs given elsewhere, read row by row."""

from __future__ import annotations

from datetime import date

import pytest

from quizapp.assessment.sign_off_rows import read_sign_offs

HEADER = "staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
GOOD = "A-1,C5,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of 2025"
TODAY = date(2026, 3, 2)


def faults(*rows: str) -> list[tuple[int, str]]:
    _, found = read_sign_offs((HEADER + "\n".join(rows)).encode(), path="s.csv", today=TODAY)
    return [(fault.line, fault.message) for fault in found]


def test_a_row_keeps_its_dates() -> None:
    rows, found = read_sign_offs((HEADER + GOOD).encode(), path="s.csv", today=TODAY)
    assert found == ()
    assert (rows[0].signed_on, rows[0].last_valid_day) == (date(2025, 6, 1), date(2026, 6, 1))
    assert (rows[0].profile, rows[0].revision) == ("TV-A", 1)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("2025-06-01", "2026-03-03", "signed_on: 2026-03-03 lies in the future"),
        ("2026-06-01", "2025-05-31", "last_valid_day: 2025-05-31 lies before"),
        ("2026-06-01", "2030-06-02", "last_valid_day: 2030-06-02 is more than 60 months"),
        ("2025-06-01", "01/06/2025", "signed_on: "),
        (",1,", ",one,", "revision: "),
        (",1,", ",0,", "revision: "),
        (",1,", ",１,", "revision: "),
        (",1,", ",99999,", "revision: "),
        ("C5", "", "competency: "),
        ("TV-A", "", "profile: "),
        ("Signed in the paper log of 2025", "log", "recognised_reason: "),
        ("A-1", "1.2E+03", "staff_number: "),
    ],
)
def test_a_row_that_cannot_be_recognised(old: str, new: str, words: str) -> None:
    found = faults(GOOD.replace(old, new))
    assert [line for line, _ in found] == [2]
    assert found[0][1].startswith(words)


def test_the_same_sign_off_twice_is_a_fault() -> None:
    assert faults(GOOD, GOOD.replace("A-1", "a-1").replace("2025-06-01", "2025-07-01")) == [
        (3, "this sign-off stands in line 2 already; keep the one that is valid")
    ]
