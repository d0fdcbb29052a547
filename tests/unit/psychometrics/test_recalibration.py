"""The local layer: changes nothing without outcomes, is the line with many, never turns the order round."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit, logit

from quizapp.psychometrics.calibration import Foretold, recalibration
from quizapp.psychometrics.recalibration import (
    AS_FORETOLD,
    INTERCEPT_SD,
    LEAST_SLOPE,
    SLOPE_SD,
    Recalibration,
    recalibrated_cost,
    shrunk_recalibration,
)


def drawn(seed: int, count: int, *, shift: float = 0.0, stretch: float = 1.0) -> list[Foretold]:
    draw = random.Random(seed)
    chances = [draw.uniform(0.03, 0.97) for _ in range(count)]
    return [
        Foretold(chance_fraction=one, was_shown=draw.random() < float(expit(shift + stretch * logit(one))))
        for one in chances
    ]


def test_without_outcomes_nothing_is_changed() -> None:
    assert shrunk_recalibration([]) == AS_FORETOLD
    assert [AS_FORETOLD.chance(one) for one in (0.0, 0.3, 1.0)] == [0.0, 0.3, 1.0]


def test_a_chance_goes_there_and_back() -> None:
    line = Recalibration(intercept=-0.4, slope=0.7)
    for chance in (0.001, 0.2, 0.6, 0.95):
        assert line.forecast(line.chance(chance)) == pytest.approx(chance)
    assert line.chance(0.5) == pytest.approx(float(expit(-0.4)))


def test_the_line_is_that_of_a_general_minimiser() -> None:
    sample = drawn(5, 60, shift=0.9, stretch=0.6)
    x = np.array([logit(one.chance_fraction) for one in sample])
    y = np.array([float(one.was_shown) for one in sample])

    def cost(line: np.ndarray) -> float:
        eta = line[0] + line[1] * x
        prior = (line[0] / INTERCEPT_SD) ** 2 / 2 + ((line[1] - 1) / SLOPE_SD) ** 2 / 2
        return float(prior - np.sum(y * np.log(expit(eta)) + (1 - y) * np.log(expit(-eta))))

    best = minimize(cost, [0.0, 1.0], tol=1e-10)
    found = shrunk_recalibration(sample)
    assert (found.intercept, found.slope) == pytest.approx(tuple(best.x), abs=1e-4)
    assert recalibrated_cost(sample) == pytest.approx(best.fun, abs=1e-6)


def test_few_outcomes_move_it_little_and_many_move_it_to_the_line() -> None:
    few = shrunk_recalibration(drawn(2, 4, shift=2.0))
    assert abs(few.intercept) < 1.0
    many = drawn(3, 4000, shift=1.0, stretch=0.6)
    free = recalibration(many)
    assert free is not None
    found = shrunk_recalibration(many)
    assert (found.intercept, found.slope) == pytest.approx(free, abs=0.03)


@pytest.mark.parametrize("was_shown", [True, False])
def test_outcomes_that_are_all_the_same_stay_finite(was_shown: bool) -> None:
    found = shrunk_recalibration([Foretold(chance_fraction=0.7, was_shown=was_shown)] * 500)
    assert abs(found.intercept) < 10
    assert found.slope >= LEAST_SLOPE


def test_forecasts_that_say_the_opposite_never_turn_the_order_round() -> None:
    found = shrunk_recalibration(drawn(4, 2000, stretch=-1.0))
    assert found.slope == LEAST_SLOPE
    assert found.chance(0.2) < found.chance(0.8)
    with pytest.raises(ValueError, match="order"):
        Recalibration(slope=0.0)


def test_certain_forecasts_that_were_wrong_are_taken_in() -> None:
    found = shrunk_recalibration([Foretold(chance_fraction=1.0, was_shown=False)] * 3)
    assert 0 < found.chance(1.0) < 1
