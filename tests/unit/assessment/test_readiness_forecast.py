"""The forecast of the number current: the worked example, and the exact distribution beside scipy's."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy.stats import poisson_binom

from quizapp.assessment.readiness_forecast import Future, central_counts, forecast_counts
from quizapp.psychometrics.poisson_binomial import count_chances

TODAY = date(2026, 3, 2)
EXPIRY_DAYS = (12, 20, 33, 45, 60, 75, 90, 120, 150, 200, 260, 330)


def futures(*booked: int) -> list[Future]:
    return [
        Future(
            last_valid_day=TODAY + timedelta(days=days),
            place_days=(TODAY + timedelta(days=days - 3),) if days in booked else (),
        )
        for days in EXPIRY_DAYS
    ]


def test_without_places_the_number_falls_as_in_the_worked_example() -> None:
    """Our own worked example: twelve people, the last valid day counts as current."""
    found = forecast_counts(futures(), TODAY)
    by_day = {(one.day - TODAY).days: one for one in found.points}
    assert [by_day[day].without_places for day in (0, 30, 60, 90)] == [12, 10, 8, 6]
    assert all(
        (one.low, one.high, one.expected) == (one.without_places,) * 2 + (one.without_places,) for one in found.points
    )
    assert found.chances_with == found.chances_without
    assert (found.people, found.today_count, found.place_count) == (12, 12, 0)


def test_three_places_as_in_the_worked_example() -> None:
    """Mean 8.7, standard deviation .52, at least 8 with .972: computed by hand, 1 - .1^3 - 3 x .9 x .1^2."""
    found = forecast_counts(futures(33, 45, 60), TODAY)
    last = found.points[-1]
    assert (last.expected, last.without_places) == (pytest.approx(8.7), 6)
    assert last.standard_deviation == pytest.approx(0.52, abs=0.0005)
    assert sum(found.chances_with[8:]) == pytest.approx(0.972)
    assert found.chances_without[6] == 1.0
    assert (last.low, last.high, found.place_count) == (8, 9, 3)
    assert found.as_many_fraction == 0.0


@given(
    some.lists(
        some.tuples(some.integers(-10, 120) | some.none(), some.lists(some.integers(0, 100), max_size=2)),
        min_size=1,
        max_size=30,
    ),
    some.floats(0.05, 0.95),
)
def test_the_distribution_is_scipys(people: list[tuple[int | None, list[int]]], success: float) -> None:
    """Reference: scipy.stats.poisson_binom (Hong 2013)."""
    known = [
        Future(
            last_valid_day=None if days is None else TODAY + timedelta(days=days),
            place_days=tuple(TODAY + timedelta(days=day) for day in places),
        )
        for days, places in people
    ]
    found = forecast_counts(known, TODAY, success_fraction=success)
    last = found.points[-1].day
    chances = [one.chance_on(last, with_places=True, success_fraction=success) for one in known]
    reference = poisson_binom(chances)
    assert found.chances_with == pytest.approx(list(reference.pmf(range(len(known) + 1))), abs=1e-9)
    assert found.points[-1].expected == pytest.approx(reference.mean())
    assert found.as_many_fraction == pytest.approx(reference.sf(found.today_count - 1), abs=1e-9)


@given(some.lists(some.floats(0, 1), max_size=20))
def test_four_times_in_five_lie_between_the_central_counts(chances: list[float]) -> None:
    distribution = count_chances(chances)
    low, high = central_counts(distribution)
    assert sum(distribution[:low]) <= 0.1 + 1e-9
    assert sum(distribution[high + 1 :]) <= 0.1 + 1e-9


def test_a_second_place_helps_only_where_the_first_failed() -> None:
    one = Future(last_valid_day=TODAY, place_days=(TODAY + timedelta(days=5), TODAY + timedelta(days=9)))
    on = [one.chance_on(TODAY + timedelta(days=days), with_places=True) for days in (0, 1, 5, 9)]
    assert on == pytest.approx([1.0, 0.0, 0.9, 0.99])
    assert one.chance_on(TODAY + timedelta(days=9), with_places=False) == 0.0


def test_nobody_and_a_chance_that_is_none() -> None:
    assert forecast_counts([], TODAY).chances_with == (1.0,)
    with pytest.raises(ValueError, match="between 0 and 1"):
        forecast_counts(futures(12), TODAY, success_fraction=1.5)
