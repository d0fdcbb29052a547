"""The time of a sitting with and without adjustments, worked by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from quizapp.assessment.sitting_time import Adjustment, ExtraTime, time_for

DAY = date(2026, 3, 2)


def adjusted(extra: ExtraTime | None, *, from_day: date = DAY, until_day: date | None = None) -> Adjustment:
    return Adjustment(extra_time=extra, from_day=from_day, until_day=until_day)


@pytest.mark.parametrize(
    ("extra", "minutes"),
    [(ExtraTime.NONE, 20), (ExtraTime.QUARTER, 25), (ExtraTime.HALF, 30), (ExtraTime.DOUBLE, 40)],
)
def test_a_share_of_the_allowance_is_added(extra: ExtraTime, minutes: int) -> None:
    assert time_for(20, [adjusted(extra)], DAY) == timedelta(minutes=minutes)


def test_nothing_is_rounded_away() -> None:
    assert time_for(1, [adjusted(ExtraTime.QUARTER)], DAY) == timedelta(seconds=75)


def test_without_a_limit_there_is_none_to_extend() -> None:
    assert time_for(None, [adjusted(ExtraTime.HALF)], DAY) is None
    assert time_for(20, [adjusted(None)], DAY) is None


def test_of_several_the_widest_holds() -> None:
    both = [adjusted(ExtraTime.HALF), adjusted(ExtraTime.QUARTER)]
    assert time_for(20, both, DAY) == timedelta(minutes=30)
    assert time_for(20, [*both, adjusted(None)], DAY) is None


@pytest.mark.parametrize(
    ("from_day", "until_day", "holds"),
    [
        (DAY, DAY, True),
        (DAY - timedelta(days=9), None, True),
        (DAY + timedelta(days=1), None, False),
        (DAY - timedelta(days=9), DAY - timedelta(days=1), False),
    ],
)
def test_first_and_last_day_are_inclusive(from_day: date, until_day: date | None, holds: bool) -> None:
    found = time_for(20, [adjusted(ExtraTime.DOUBLE, from_day=from_day, until_day=until_day)], DAY)
    assert found == timedelta(minutes=40 if holds else 20)
