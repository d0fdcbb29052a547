"""How far forecasts made before the outcome can be believed: scores, bins to draw, and one test for the whole.

Until a track has enough outcomes that others assessed, every chance it shows is called uncalibrated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from quizapp.psychometrics.intervals import Interval, wilson
from quizapp.psychometrics.item_response import log_logistic

FEWEST_OUTCOMES = 100
FEWEST_NOT_SHOWN = 20
"""With fewer, calibration cannot be told from luck. Ours (policy); a small service may never have so many."""
BIN_COUNT = 10
SMALLEST_CHANCE = 1e-12
MOST_STEPS = 60
STEEPEST = 100.0


@dataclass(frozen=True, kw_only=True)
class Foretold:
    """One chance (0 to 1) stored before its outcome was known, and whether the outcome was "shown"."""

    chance_fraction: float
    was_shown: bool


@dataclass(frozen=True, kw_only=True)
class CalibrationBin:
    """The forecasts between two chances: how many, what was foretold on average, what came, and its 95 % interval."""

    lower_fraction: float
    upper_fraction: float
    count: int
    foretold_fraction: float
    shown_fraction: float
    interval: Interval


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """All figures of one set of forecasts.

    `base_rate_brier`: the score of always foretelling the average. `slope` and `intercept` of a logistic
    recalibration, 1 and 0 when perfect; None where the forecasts separate the outcomes or say all the same.
    `spiegelhalter_z` beyond 2.58 either way speaks against calibration (level .01).
    """

    count: int
    not_shown_count: int
    brier: float
    log_loss: float
    base_rate_brier: float
    calibration_error: float
    slope: float | None
    intercept: float | None
    spiegelhalter_z: float
    bins: tuple[CalibrationBin, ...]


def has_enough_outcomes(count: int, not_shown_count: int) -> bool:
    """Whether so many outcomes, so many of them "not shown", allow a word on calibration."""
    return count >= FEWEST_OUTCOMES and not_shown_count >= FEWEST_NOT_SHOWN


def calibration(foretold: Sequence[Foretold]) -> Calibration | None:
    """Give all figures; None without any forecast."""
    if not foretold:
        return None
    count, shown = len(foretold), sum(one.was_shown for one in foretold)
    bins = calibration_bins(foretold)
    line = recalibration(foretold)
    return Calibration(
        count=count,
        not_shown_count=count - shown,
        brier=brier(foretold),
        log_loss=log_loss(foretold),
        base_rate_brier=shown / count * (1 - shown / count),
        calibration_error=sum(one.count / count * abs(one.foretold_fraction - one.shown_fraction) for one in bins),
        slope=None if line is None else line[1],
        intercept=None if line is None else line[0],
        spiegelhalter_z=spiegelhalter_z(foretold),
        bins=bins,
    )


def brier(foretold: Sequence[Foretold]) -> float:
    """Give the mean squared error, 0 (perfect) to 1. Source: Brier 1950, Monthly Weather Review 78:1-3."""
    return sum((one.chance_fraction - one.was_shown) ** 2 for one in foretold) / len(foretold)


def log_loss(foretold: Sequence[Foretold]) -> float:
    """Give the mean negative log-likelihood, finite even for a forecast that was certain and wrong."""
    chances = (one.chance_fraction if one.was_shown else 1.0 - one.chance_fraction for one in foretold)
    return -sum(log(max(chance, SMALLEST_CHANCE)) for chance in chances) / len(foretold)


def calibration_bins(foretold: Sequence[Foretold], count: int = BIN_COUNT) -> tuple[CalibrationBin, ...]:
    """Give the bins of equal width that hold any forecast, lowest first, each with a Wilson interval."""
    held: dict[int, list[Foretold]] = {}
    for one in foretold:
        held.setdefault(min(int(one.chance_fraction * count), count - 1), []).append(one)
    return tuple(_bin(number, count, held[number]) for number in sorted(held))


def _bin(number: int, count: int, inside: Sequence[Foretold]) -> CalibrationBin:
    shown = sum(one.was_shown for one in inside)
    return CalibrationBin(
        lower_fraction=number / count,
        upper_fraction=(number + 1) / count,
        count=len(inside),
        foretold_fraction=sum(one.chance_fraction for one in inside) / len(inside),
        shown_fraction=shown / len(inside),
        interval=wilson(shown, len(inside)),
    )


def spiegelhalter_z(foretold: Sequence[Foretold]) -> float:
    """Give Spiegelhalter's test statistic, standard normal where the forecasts are calibrated.

    0 where every forecast is certain or one half. Source: Spiegelhalter 1986, Statistics in Medicine 5:421-433.
    """
    pairs = [(one.chance_fraction, float(one.was_shown)) for one in foretold]
    variance = sum((1 - 2 * chance) ** 2 * chance * (1 - chance) for chance, _ in pairs)
    if variance <= 0:
        return 0.0
    return sum((shown - chance) * (1 - 2 * chance) for chance, shown in pairs) / sqrt(variance)


def recalibration(foretold: Sequence[Foretold]) -> tuple[float, float] | None:
    """Give intercept and slope of the logistic regression of the outcomes on the logit of the forecasts.

    None where it has no finite answer. Source: Cox 1958, Biometrika 45:562-565; Newton's method.
    """
    logits = [_logit(one.chance_fraction) for one in foretold]
    intercept, slope = 0.0, 1.0
    for _ in range(MOST_STEPS):
        step = _newton_step(logits, [one.was_shown for one in foretold], intercept, slope)
        if step is None:
            return None
        intercept, slope = intercept + step[0], slope + step[1]
        if abs(slope) > STEEPEST or abs(intercept) > STEEPEST:
            return None
        if max(abs(step[0]), abs(step[1])) < 1e-10:
            return intercept, slope
    return None


def _newton_step(
    logits: Sequence[float], shown: Sequence[bool], intercept: float, slope: float
) -> tuple[float, float] | None:
    up_0 = up_1 = bend_00 = bend_01 = bend_11 = 0.0
    for logit, outcome in zip(logits, shown, strict=True):
        chance = exp(log_logistic(intercept + slope * logit))
        weight = chance * (1.0 - chance)
        up_0 += outcome - chance
        up_1 += (outcome - chance) * logit
        bend_00, bend_01, bend_11 = bend_00 + weight, bend_01 + weight * logit, bend_11 + weight * logit * logit
    determinant = bend_00 * bend_11 - bend_01 * bend_01
    if determinant <= 1e-12 * max(1.0, bend_00 * bend_11):
        return None
    return (bend_11 * up_0 - bend_01 * up_1) / determinant, (bend_00 * up_1 - bend_01 * up_0) / determinant


def _logit(chance: float) -> float:
    kept = min(max(chance, SMALLEST_CHANCE), 1.0 - SMALLEST_CHANCE)
    return log(kept / (1.0 - kept))
