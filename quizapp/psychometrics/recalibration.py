"""The local layer over a forecast: a logistic line fitted to outcomes of one's own, shrunk towards changing nothing.

Unlike `calibration.recalibration`, which describes, this line is meant to be used: it is finite for any outcomes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from quizapp.psychometrics.calibration import Foretold
from quizapp.psychometrics.item_response import log_logistic

INTERCEPT_SD = 1.0
SLOPE_SD = 0.5
"""How far, before any outcome, a service may lie from the published forecast (logits; slope). Ours (assumption)."""
LEAST_SLOPE = 0.1
"""Below it a higher forecast would hardly mean a higher chance; the order of forecasts is never turned round."""
NEAREST_TO_CERTAIN = 1e-6
MOST_STEPS = 60
CLOSE_ENOUGH = 1e-7


@dataclass(frozen=True, kw_only=True)
class Recalibration:
    """What is done to the logit of a forecast: intercept plus slope (above 0) times the logit."""

    intercept: float = 0.0
    slope: float = 1.0

    def __post_init__(self) -> None:
        if not self.slope > 0:
            raise ValueError(f"a slope lies above 0, not at {self.slope}: it would turn the order of forecasts round")

    def chance(self, foretold_fraction: float) -> float:
        """Give the chance (0 to 1) that a forecast (0 to 1) stands for here."""
        if self == AS_FORETOLD:
            return foretold_fraction
        return exp(log_logistic(self.intercept + self.slope * bounded_logit(foretold_fraction)))

    def forecast(self, chance_fraction: float) -> float:
        """Give the forecast (0 to 1) that stands for a chance (between 0 and 1): the way back."""
        if self == AS_FORETOLD:
            return chance_fraction
        return exp(log_logistic((bounded_logit(chance_fraction) - self.intercept) / self.slope))


AS_FORETOLD = Recalibration()


def bounded_logit(chance_fraction: float) -> float:
    """Give the logit of a chance (0 to 1), a certain one taken as nearly certain."""
    kept = min(max(chance_fraction, NEAREST_TO_CERTAIN), 1.0 - NEAREST_TO_CERTAIN)
    return log(kept / (1.0 - kept))


def shrunk_recalibration(foretold: Sequence[Foretold]) -> Recalibration:
    """Fit the line by maximum a posteriori, with normal priors around intercept 0 and slope 1.

    Without any outcome it changes nothing; with many the priors no longer matter. Newton's method with halved steps.
    """
    intercept, slope = _line(_pairs(foretold))
    return Recalibration(intercept=intercept, slope=max(slope, LEAST_SLOPE))


def recalibrated_cost(foretold: Sequence[Foretold]) -> float:
    """Give the negative log-posterior (natural logarithm) that is left after the best line: the lower, the better."""
    pairs = _pairs(foretold)
    return _cost(pairs, *_line(pairs))


def _pairs(foretold: Sequence[Foretold]) -> list[tuple[float, float]]:
    return [(bounded_logit(one.chance_fraction), float(one.was_shown)) for one in foretold]


def _line(pairs: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Newton's method; a step that would lead upwards is halved."""
    intercept, slope = 0.0, 1.0
    cost = _cost(pairs, intercept, slope)
    for _ in range(MOST_STEPS):
        step = _step(pairs, intercept, slope)
        if max(abs(step[0]), abs(step[1])) < CLOSE_ENOUGH:
            break
        part, tried = 1.0, _cost(pairs, intercept + step[0], slope + step[1])
        while tried > cost and part > CLOSE_ENOUGH:
            part /= 2.0
            tried = _cost(pairs, intercept + part * step[0], slope + part * step[1])
        intercept, slope, cost = intercept + part * step[0], slope + part * step[1], tried
    return intercept, slope


def _cost(pairs: Sequence[tuple[float, float]], intercept: float, slope: float) -> float:
    prior = (intercept / INTERCEPT_SD) ** 2 / 2.0 + ((slope - 1.0) / SLOPE_SD) ** 2 / 2.0
    lines = ((intercept + slope * logit, shown) for logit, shown in pairs)
    return prior - sum(log_logistic(line if shown else -line) for line, shown in lines)


def _step(pairs: Sequence[tuple[float, float]], intercept: float, slope: float) -> tuple[float, float]:
    up_0, up_1 = -intercept / INTERCEPT_SD**2, (1.0 - slope) / SLOPE_SD**2
    bend_00, bend_01, bend_11 = 1.0 / INTERCEPT_SD**2, 0.0, 1.0 / SLOPE_SD**2
    for logit, shown in pairs:
        chance = exp(log_logistic(intercept + slope * logit))
        weight = chance * (1.0 - chance)
        up_0, up_1 = up_0 + shown - chance, up_1 + (shown - chance) * logit
        bend_00, bend_01, bend_11 = bend_00 + weight, bend_01 + weight * logit, bend_11 + weight * logit * logit
    determinant = bend_00 * bend_11 - bend_01 * bend_01
    return (bend_11 * up_0 - bend_01 * up_1) / determinant, (bend_00 * up_1 - bend_01 * up_0) / determinant
