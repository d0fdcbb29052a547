"""Confidence intervals of a proportion, for few people: Wilson to show, Clopper-Pearson where cover is promised."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from quizapp.psychometrics.binomial_form import binomial_tail

HALVINGS = 60


@dataclass(frozen=True, kw_only=True)
class Interval:
    """A lower and an upper bound of a proportion, fractions 0 to 1."""

    lower_fraction: float
    upper_fraction: float


def wilson(successes: int, trials: int, confidence_fraction: float = 0.95) -> Interval:
    """Give the Wilson score interval.

    `successes` 0 to trials, `trials` at least 1, `confidence_fraction` between 0 and 1, ends excluded.
    Raises ValueError outside. Source: Wilson 1927, J Am Stat Assoc 22:209-212.
    """
    _check(successes, trials, confidence_fraction)
    z = NormalDist().inv_cdf((1.0 + confidence_fraction) / 2.0)
    share = successes / trials
    stretch = 1.0 + z * z / trials
    centre = (share + z * z / (2 * trials)) / stretch
    half_width = z * sqrt(share * (1.0 - share) / trials + z * z / (4 * trials * trials)) / stretch
    return Interval(
        lower_fraction=0.0 if successes == 0 else centre - half_width,
        upper_fraction=1.0 if successes == trials else centre + half_width,
    )


def clopper_pearson(successes: int, trials: int, confidence_fraction: float = 0.95) -> Interval:
    """Give the exact interval: each end leaves at most half the remaining chance outside.

    Arguments and errors as `wilson`. Source: Clopper & Pearson 1934, Biometrika 26:404-413.
    """
    _check(successes, trials, confidence_fraction)
    half = (1.0 - confidence_fraction) / 2.0
    failures = trials - successes

    def lower_end(proportion: float) -> bool:
        return binomial_tail(successes, trials, proportion) > half

    def upper_end(proportion: float) -> bool:
        return binomial_tail(failures, trials, 1.0 - proportion) < half

    return Interval(
        lower_fraction=0.0 if successes == 0 else _first_true(lower_end),
        upper_fraction=1.0 if failures == 0 else _first_true(upper_end),
    )


def _first_true(is_past: Callable[[float], bool]) -> float:
    """Halve the unit interval until the place where `is_past` turns true is known to the last bit."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if is_past(middle):
            high = middle
        else:
            low = middle
    return (low + high) / 2.0


def _check(successes: int, trials: int, confidence_fraction: float) -> None:
    if trials < 1 or not 0 <= successes <= trials:
        raise ValueError(f"{successes} of {trials} is no proportion: give 0 to {max(trials, 1)} of at least 1")
    if not 0.0 < confidence_fraction < 1.0:
        raise ValueError(f"a confidence lies between 0 and 1, not at {confidence_fraction}")
