"""The same belief as one mean and one variance: quick what-if and cross-check of the grid, never shown to anybody.

Evidence is taken in by moment matching (assumed density filtering), which errs where a belief is lopsided.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log2, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

from quizapp.psychometrics.fade_model import FadeModel, Training
from quizapp.psychometrics.item_response import WeighedAnswer

if TYPE_CHECKING:
    from quizapp.psychometrics.competence_grid import Floats

QUADRATURE_NODES = 61
NORMAL = NormalDist()


@dataclass(frozen=True, kw_only=True)
class Moments:
    """A belief as a normal distribution: mean in logits above the standard, variance above 0."""

    mean: float
    variance: float

    @property
    def sd(self) -> float:
        """How uncertain the skill is, in logits."""
        return sqrt(self.variance)


def untrained_moments(model: FadeModel) -> Moments:
    """Return the belief about somebody of whom nothing is known."""
    return Moments(mean=model.baseline, variance=model.long_run_variance)


def faded_moments(moments: Moments, model: FadeModel, days: float) -> Moments:
    """Return the belief `days` (0 and up) later; exact for mean and variance. Raises ValueError below 0 days."""
    kept = model.kept_fraction(days)
    return Moments(
        mean=model.baseline + (moments.mean - model.baseline) * kept,
        variance=moments.variance * kept * kept + model.long_run_variance * (1.0 - kept * kept),
    )


def trained_moments(moments: Moments, training: Training) -> Moments:
    """Return the belief after teaching that was not assessed."""
    left = 1.0 - training.share_fraction
    return Moments(
        mean=moments.mean + training.share_fraction * (training.target - moments.mean),
        variance=left * left * moments.variance + training.scatter_variance,
    )


def learned_moments(moments: Moments, answers: Sequence[WeighedAnswer]) -> Moments:
    """Return the belief after the evidence of one day, by Gauss-Hermite quadrature."""
    import numpy as np

    if not answers:
        return moments
    places, weights = _quadrature()
    skills = moments.mean + moments.sd * places
    logs = np.log(weights) + _log_likelihood_at(skills, answers)
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    mean = float(shares @ skills)
    return Moments(mean=mean, variance=float(shares @ (skills - mean) ** 2))


def chance_of_moments(moments: Moments) -> float:
    """Give the chance (0 to 1) that the skill meets the standard."""
    return NORMAL.cdf(moments.mean / moments.sd)


def days_until_moments_under(moments: Moments, model: FadeModel, threshold_fraction: float) -> float | None:
    """Give in how many days the chance falls under a threshold (between 0 and 1, ends excluded), in closed form.

    None when it lies under it already or never falls that low.
    """
    z = NORMAL.inv_cdf(threshold_fraction)
    gain, gap = moments.mean - model.baseline, -model.baseline
    if chance_of_moments(moments) < threshold_fraction:
        return None
    a = gain * gain - z * z * (moments.variance - model.long_run_variance)
    b = -2.0 * gain * gap
    c = gap * gap - z * z * model.long_run_variance
    roots = [gap / gain] if z == 0 and gain else _roots(a, b, c)
    kept = [x for x in roots if 0 < x <= 1 and (gain * x - gap) * z >= -1e-12]
    return -model.half_life_days * log2(max(kept)) if kept else None


def _roots(a: float, b: float, c: float) -> list[float]:
    """Return the real roots of a x^2 + b x + c."""
    if abs(a) < 1e-15:
        return [-c / b] if b else []
    under = b * b - 4.0 * a * c
    if under < 0:
        return []
    return [(-b - sqrt(under)) / (2.0 * a), (-b + sqrt(under)) / (2.0 * a)]


def _log_likelihood_at(skills: Floats, answers: Sequence[WeighedAnswer]) -> Floats:
    """Return the weighed log-likelihood at each skill, all answers at once; their order has no effect."""
    import numpy as np

    rows = np.array(
        sorted((one.slope, one.difficulty, one.guess_fraction, one.credit_fraction, one.weight) for one in answers)
    )
    slope, difficulty, guess = (rows[:, column : column + 1] for column in range(3))
    logits = slope * (skills[None, :] - difficulty)
    tail = np.log1p(np.exp(-np.abs(logits)))
    right, wrong = np.minimum(logits, 0.0) - tail, -np.maximum(logits, 0.0) - tail
    if guess.any():
        right = np.log(guess + (1.0 - guess) * np.exp(right))
        wrong = wrong + np.log1p(-guess)
    credit_fraction, weight = rows[:, 3], rows[:, 4]
    total: Floats = (weight * credit_fraction) @ right + (weight * (1.0 - credit_fraction)) @ wrong
    return total


@lru_cache(maxsize=1)
def _quadrature() -> tuple[Floats, Floats]:
    """Return places and weights for a standard normal distribution."""
    from numpy.polynomial.hermite_e import hermegauss

    places, weights = hermegauss(QUADRATURE_NODES)
    return places, weights / weights.sum()
