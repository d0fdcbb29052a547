"""When somebody is reminded, and how long a failed sending waits."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from quizapp.assessment.notices import LONGEST_WAIT, reminder_due, wait_after

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("left", "reminder"), [(61, None), (60, 60), (31, 60), (30, 30), (8, 30), (7, 7), (0, 7), (-1, None)]
)
def test_sixty_thirty_and_seven_days_before_the_last_valid_day(left: int, reminder: int | None) -> None:
    assert reminder_due(TODAY + timedelta(days=left), TODAY) == reminder


def test_each_failure_waits_twice_as_long_up_to_half_a_day() -> None:
    assert [wait_after(tries).total_seconds() / 60 for tries in (1, 2, 3, 4)] == [5, 10, 20, 40]
    assert wait_after(9) == LONGEST_WAIT
    assert wait_after(10**6) == LONGEST_WAIT
    with pytest.raises(ValueError, match="nothing was attempted"):
        wait_after(0)
