"""Belief about one skill of one person over time: fades, is taught, learns from answers, forecasts itself.

A dynamic two-parameter logistic model, filtered on a grid. It advises; nothing is granted or refused by it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import erf, inf, log, sqrt
from typing import TYPE_CHECKING, cast

from quizapp.psychometrics.competence_grid import NODE_COUNT, fade_kernels, nodes, normal_mass, training_kernel
from quizapp.psychometrics.fade_model import FadeModel, Training
from quizapp.psychometrics.item_response import WeighedAnswer

if TYPE_CHECKING:
    from quizapp.psychometrics.competence_grid import Floats

STANDARD = 0.0
CLOSE_ENOUGH_DAYS = 0.005
LONGEST_DAYS = 2.0**20
Curve = tuple[float, float, float]
"""Slope, difficulty and chance of guessing."""


@dataclass(frozen=True, eq=False)
class Belief:
    """How likely each skill of the grid is; the masses sum to 1."""

    mass: Floats

    @cached_property
    def mean(self) -> float:
        """The expected skill, in logits above the standard."""
        return float(self.mass @ nodes(len(self.mass)))

    @cached_property
    def sd(self) -> float:
        """How uncertain the skill is, in logits."""
        away = nodes(len(self.mass)) - self.mean
        return sqrt(float(self.mass @ (away * away)))

    def to_bytes(self) -> bytes:
        """Return the masses exactly, as little-endian double precision."""
        return self.mass.astype("<f8").tobytes()

    @classmethod
    def from_bytes(cls, stored: bytes) -> Belief:
        """Read back what `to_bytes` gave; raises ValueError for anything else."""
        import numpy as np

        if len(stored) != 8 * NODE_COUNT:
            raise ValueError(f"{len(stored)} bytes are no belief on {NODE_COUNT} nodes")
        mass = np.frombuffer(stored, dtype="<f8").astype(np.float64)
        if not (np.all(mass >= 0) and abs(float(mass.sum()) - 1.0) < 1e-6):
            raise ValueError("the masses of a belief are 0 or more and sum to 1")
        return cls(mass)


def untrained(model: FadeModel, count: int = NODE_COUNT) -> Belief:
    """Return the belief about somebody of whom nothing is known: where fading ends."""
    import numpy as np

    return Belief(normal_mass(np.array([model.baseline]), sqrt(model.long_run_variance), count)[0])


def faded(belief: Belief, model: FadeModel, days: int) -> Belief:
    """Return the belief `days` whole days (0 and up) later without new evidence; raises ValueError below 0."""
    model.kept_fraction(days)
    mass = belief.mass
    for kernel in fade_kernels(model, days, len(mass)):
        mass = mass @ kernel
    return Belief(mass)


def trained(belief: Belief, training: Training) -> Belief:
    """Return the belief after teaching that was not assessed."""
    return Belief(belief.mass @ training_kernel(training, len(belief.mass)))


def learned(belief: Belief, answers: Sequence[WeighedAnswer]) -> Belief:
    """Return the belief after the evidence of one day; the order of the answers has no effect.

    The likelihood is the weighed sum of log-likelihoods; credit between 0 and 1 counts for both sides in proportion.
    """
    import numpy as np

    if not answers:
        return belief
    with np.errstate(divide="ignore"):
        logs = np.log(belief.mass) + _evidence(answers, len(belief.mass))
    mass = np.exp(logs - logs.max())
    return Belief(mass / mass.sum())


def log_curves(skills: Floats, *, slope: float, difficulty: float, guess_fraction: float) -> tuple[Floats, Floats]:
    """Return the logarithms of the chances to be right and to be wrong at each of the skills, without overflow."""
    import numpy as np

    logits = slope * (np.asarray(skills) - difficulty)
    tail = np.log1p(np.exp(-np.abs(logits)))
    log_known, log_not_known = np.minimum(logits, 0.0) - tail, -np.maximum(logits, 0.0) - tail
    if not guess_fraction:
        return log_known, log_not_known
    rest = 1.0 - guess_fraction
    return np.log(guess_fraction + rest * np.exp(log_known)), log(rest) + log_not_known


def log_likelihood(answers: Sequence[WeighedAnswer], curves_of: Callable[[Curve], tuple[Floats, Floats]]) -> Floats:
    """Return the weighed log-likelihood of the answers; `curves_of` gives the logarithms for one curve."""
    rows = sorted(((one.slope, one.difficulty, one.guess_fraction), one.credit_fraction, one.weight) for one in answers)
    right: dict[Curve, float] = {}
    wrong: dict[Curve, float] = {}
    for curve, credit_fraction, weight in rows:
        right[curve] = right.get(curve, 0.0) + weight * credit_fraction
        wrong[curve] = wrong.get(curve, 0.0) + weight * (1.0 - credit_fraction)
    total: Floats | float = 0.0
    for curve in sorted(right):
        log_right, log_wrong = curves_of(curve)
        total = total + right[curve] * log_right + wrong[curve] * log_wrong
    return cast("Floats", total)


def _evidence(answers: Sequence[WeighedAnswer], count: int) -> Floats:
    return log_likelihood(answers, lambda curve: _curves_on_grid(curve, count))


@lru_cache(maxsize=1024)
def _curves_on_grid(curve: Curve, count: int) -> tuple[Floats, Floats]:
    slope, difficulty, guess_fraction = curve
    return log_curves(nodes(count), slope=slope, difficulty=difficulty, guess_fraction=guess_fraction)


def chance_competent(belief: Belief, model: FadeModel, days: float = 0) -> float:
    """Give the chance (0 to 1) that the skill meets the standard `days` (0 and up) later, without a kernel.

    A node exactly on the standard carries half its mass to each side. Raises ValueError for days before the evidence.
    """
    kept = model.kept_fraction(days)
    grid, mass = nodes(len(belief.mass)).tolist(), belief.mass.tolist()
    if kept == 1.0:
        shares = ((skill > STANDARD) + 0.5 * (skill == STANDARD) for skill in grid)
        return float(sum(part * share for part, share in zip(mass, shares, strict=True)))
    scale = sqrt(2.0 * model.long_run_variance * (1.0 - kept * kept))
    base = model.baseline * (1.0 - kept)
    shares = (0.5 + 0.5 * erf((base + skill * kept - STANDARD) / scale) for skill in grid)
    return float(sum(part * share for part, share in zip(mass, shares, strict=True)))


def days_until_under(belief: Belief, model: FadeModel, threshold_fraction: float) -> float | None:
    """Give in how many days the chance falls under a threshold (0 to 1), found by halving.

    None: it lies under it already. Infinite: it never falls that low, since even untrained people meet it.
    """
    if chance_competent(belief, model) < threshold_fraction:
        return None
    early, late = 0.0, 32.0
    while chance_competent(belief, model, late) >= threshold_fraction:
        early, late = late, late * 2.0
        if late > LONGEST_DAYS:
            return inf
    while late - early > CLOSE_ENOUGH_DAYS:
        middle = (early + late) / 2.0
        if chance_competent(belief, model, middle) >= threshold_fraction:
            early = middle
        else:
            late = middle
    return (early + late) / 2.0
