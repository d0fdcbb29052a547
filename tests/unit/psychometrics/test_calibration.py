from __future__ import annotations

import random
from math import log

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit, logit

from quizapp.psychometrics.calibration import (
    Foretold,
    brier,
    calibration,
    calibration_bins,
    has_enough_outcomes,
    log_loss,
    recalibration,
    spiegelhalter_z,
)


def foretold(*pairs: tuple[float, bool]) -> list[Foretold]:
    return [Foretold(chance_fraction=chance, was_shown=shown) for chance, shown in pairs]


def drawn(seed: int, count: int, *, shift: float = 0.0, stretch: float = 1.0) -> list[Foretold]:
    """Forecasts whose outcomes come with another chance: logit of the truth = shift + stretch * logit."""
    draw = random.Random(seed)
    chances = [draw.uniform(0.03, 0.97) for _ in range(count)]
    return [
        Foretold(chance_fraction=one, was_shown=draw.random() < float(expit(shift + stretch * logit(one))))
        for one in chances
    ]


def test_scores_by_hand() -> None:
    pairs = foretold((0.9, True), (0.6, False), (0.2, False))
    assert brier(pairs) == pytest.approx((0.01 + 0.36 + 0.04) / 3)
    assert log_loss(pairs) == pytest.approx(-(log(0.9) + log(0.4) + log(0.8)) / 3)


def test_a_certain_forecast_that_was_wrong_costs_much_and_stays_finite() -> None:
    assert 20 < log_loss(foretold((1.0, False))) < 40


def test_without_forecasts_there_is_no_calibration() -> None:
    assert calibration([]) is None


def test_the_line_is_that_of_maximum_likelihood() -> None:
    sample = drawn(5, 400, shift=-0.6, stretch=0.7)
    x = np.array([logit(one.chance_fraction) for one in sample])
    y = np.array([float(one.was_shown) for one in sample])
    best = minimize(lambda line: -np.sum(y * np.log(expit(line[0] + line[1] * x))
                                         + (1 - y) * np.log(expit(-line[0] - line[1] * x))), [0.0, 1.0])  # fmt: skip
    found = recalibration(sample)
    assert found is not None
    assert found == pytest.approx(tuple(best.x), abs=1e-4)


@pytest.mark.parametrize(
    "pairs", [((0.2, False), (0.8, True)), ((0.5, True), (0.5, False)), ((0.3, False), (0.4, False), (0.5, False))]
)
def test_a_line_that_does_not_exist_is_none(pairs: tuple[tuple[float, bool], ...]) -> None:
    assert recalibration(foretold(*pairs)) is None


def test_the_overall_test_is_quiet_for_honest_forecasts_and_loud_for_others() -> None:
    honest = [abs(spiegelhalter_z(drawn(seed, 300))) > 2.576 for seed in range(200)]
    assert sum(honest) <= 8
    assert abs(spiegelhalter_z(drawn(1, 600, shift=1.5))) > 2.576
    assert spiegelhalter_z(foretold((0.5, True), (1.0, True))) == 0.0


def test_bins_hold_every_forecast_with_an_interval() -> None:
    bins = calibration_bins(foretold((0.0, False), (0.05, True), (0.95, True), (1.0, True)))
    assert [(one.count, one.lower_fraction) for one in bins] == [(2, 0.0), (2, 0.9)]
    assert bins[0].shown_fraction == 0.5
    assert bins[1].interval.lower_fraction < 1.0


def test_the_summary_holds_all_figures() -> None:
    sample = drawn(9, 500)
    found = calibration(sample)
    assert found is not None
    assert found.count == 500
    assert found.brier < found.base_rate_brier
    assert found.calibration_error < 0.1
    assert found.slope == pytest.approx(1.0, abs=0.3)
    assert sum(one.count for one in found.bins) == 500


@pytest.mark.parametrize(
    ("count", "not_shown", "enough"), [(100, 20, True), (99, 20, False), (100, 19, False), (5000, 3, False)]
)
def test_a_hundred_outcomes_with_twenty_not_shown_are_needed(count: int, not_shown: int, enough: bool) -> None:
    assert has_enough_outcomes(count, not_shown) is enough
