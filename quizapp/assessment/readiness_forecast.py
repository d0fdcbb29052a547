"""How many people will be current on each day ahead, with and without the places they hold, as an exact distribution.

People are taken as independent, which is optimistic when all were trained on one day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate
from math import sqrt

from quizapp.psychometrics.poisson_binomial import (
    chance_of_at_least,
    count_chances,
    count_variance,
    expected_count,
)

DAYS_AHEAD = 90
STEP_DAYS = 5
TAIL_FRACTION = 0.1
PLACE_SUCCEEDS_FRACTION = 0.9
"""That a place held ends in a sign-off: a guess, not calibrated here; say so beside every number that rests on it."""


@dataclass(frozen=True, kw_only=True)
class Future:
    """What is known of one person: the first last valid day (None: not current now) and the days of places held."""

    last_valid_day: date | None
    place_days: tuple[date, ...] = ()

    def chance_on(self, day: date, *, with_places: bool, success_fraction: float = PLACE_SUCCEEDS_FRACTION) -> float:
        """Give the chance, 0 to 1, that the person is current on a day.

        A place renews everything that ends by then, each with `success_fraction`; a second place helps only where
        the first one failed. A renewed sign-off is taken to last past the day.
        """
        if self.last_valid_day is not None and day <= self.last_valid_day:
            return 1.0
        tries = sum(one <= day for one in self.place_days) if with_places else 0
        return 1.0 - (1.0 - success_fraction) ** tries


@dataclass(frozen=True, kw_only=True)
class CountAhead:
    """The number current on one day: without the places (sure), and with them the mean and four times in five."""

    day: date
    without_places: int
    expected: float
    standard_deviation: float
    low: int
    high: int


@dataclass(frozen=True, kw_only=True)
class CountForecast:
    """The days ahead, and the chance of each count 0 to n on the last of them, with the places held and without.

    `as_many_fraction`: the chance that on the last day at least as many are current as today, with the places.
    """

    people: int
    today_count: int
    place_count: int
    points: tuple[CountAhead, ...]
    chances_with: tuple[float, ...]
    chances_without: tuple[float, ...]
    as_many_fraction: float


def forecast_counts(
    futures: Sequence[Future], today: date, *, success_fraction: float = PLACE_SUCCEEDS_FRACTION
) -> CountForecast:
    """Forecast the number current on every fifth day of the next ninety. Source: Poisson-binomial distribution.

    `success_fraction` 0 to 1 is the chance that a place ends in a sign-off; raises ValueError outside.
    """
    days = [today + timedelta(days=away) for away in range(0, DAYS_AHEAD + 1, STEP_DAYS)]
    with_places = _chances(futures, days[-1], with_places=True, success_fraction=success_fraction)
    without = _chances(futures, days[-1], with_places=False, success_fraction=success_fraction)
    points = tuple(_ahead(futures, day, success_fraction) for day in days)
    return CountForecast(
        people=len(futures),
        today_count=points[0].without_places,
        place_count=sum(any(day <= days[-1] for day in one.place_days) for one in futures),
        points=points,
        chances_with=count_chances(with_places),
        chances_without=count_chances(without),
        as_many_fraction=chance_of_at_least(points[0].without_places, with_places),
    )


def _chances(futures: Sequence[Future], day: date, *, with_places: bool, success_fraction: float) -> list[float]:
    return [one.chance_on(day, with_places=with_places, success_fraction=success_fraction) for one in futures]


def _ahead(futures: Sequence[Future], day: date, success_fraction: float) -> CountAhead:
    chances = _chances(futures, day, with_places=True, success_fraction=success_fraction)
    low, high = central_counts(count_chances(chances))
    return CountAhead(
        day=day,
        without_places=sum(one.chance_on(day, with_places=False) == 1.0 for one in futures),
        expected=expected_count(chances),
        standard_deviation=sqrt(count_variance(chances)),
        low=low,
        high=high,
    )


def central_counts(chances: Sequence[float]) -> tuple[int, int]:
    """Give the counts between which the number lies at least four times in five.

    `chances` are those of 0 to n and sum to 1: at most one in ten lies below the first, at most one in ten above the
    second.
    """
    sums = list(accumulate(chances))
    low = next(count for count, total in enumerate(sums) if total > TAIL_FRACTION + 1e-12)
    high = next((count for count, total in enumerate(sums) if total >= 1.0 - TAIL_FRACTION - 1e-12), len(sums) - 1)
    return low, max(low, high)
