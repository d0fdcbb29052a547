"""What the estimate is measured against: the base rate, and a beta-binomial count that discounts with time.

Both are tuned on the other half of the clinicians: the count over every setting below, and with a line of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from quizapp.cli.simulated.worlds import SimulatedClinician
from quizapp.psychometrics.calibration import Foretold, log_loss
from quizapp.psychometrics.recalibration import Recalibration, shrunk_recalibration

HALF_LIVES_DAYS = (90, 180, 365, 730, 1460)
PRIOR_STRENGTHS = (4.0, 10.0, 20.0)
PRIOR_SHARES = (0.4, 0.6, 0.8)
CUTS = (0.4, 0.5, 0.6, 0.7)
PLACES = (np.arange(400) + 0.5) / 400
"""Shares of right answers, at which the beta density is summed."""


def base_rate(train: Sequence[SimulatedClinician], test: Sequence[SimulatedClinician]) -> list[Foretold]:
    """Return the same chance for everybody: the share of the other half."""
    truths = [truth for one in train for truth in one.truths]
    share = sum(truths) / len(truths)
    return [Foretold(chance_fraction=share, was_shown=truth) for one in test for truth in one.truths]


@dataclass(frozen=True, kw_only=True)
class DiscountedCount:
    """Right and wrong answers, each forgotten with a half-life, over a prior; the chance of a share above a cut."""

    half_life_days: int
    prior_strength: float
    prior_share: float
    cut: float

    def foretell(self, clinicians: Sequence[SimulatedClinician]) -> list[Foretold]:
        """Return the chances of every day but the first, each from the days before it."""
        right, asked, days = _counts(clinicians)
        kept_right = kept_wrong = np.zeros(len(clinicians))
        columns = []
        for place in range(1, right.shape[1]):
            kept = 2.0 ** (-(days[:, place] - days[:, place - 1]) / self.half_life_days)
            kept_right = (kept_right + right[:, place - 1]) * kept
            kept_wrong = (kept_wrong + asked[:, place - 1] - right[:, place - 1]) * kept
            columns.append(self._chance_above(kept_right, kept_wrong))
        return _paired(np.stack(columns, axis=1), clinicians)

    def _chance_above(self, right: Any, wrong: Any) -> Any:
        a = right + self.prior_strength * self.prior_share
        b = wrong + self.prior_strength * (1.0 - self.prior_share)
        logs = np.outer(a - 1.0, np.log(PLACES)) + np.outer(b - 1.0, np.log1p(-PLACES))
        density = np.exp(logs - logs.max(axis=1, keepdims=True))
        return density[:, self.cut < PLACES].sum(axis=1) / density.sum(axis=1)


SETTINGS = tuple(
    DiscountedCount(half_life_days=half_life, prior_strength=strength, prior_share=share, cut=cut)
    for half_life, strength, share, cut in product(HALF_LIVES_DAYS, PRIOR_STRENGTHS, PRIOR_SHARES, CUTS)
)


@dataclass(frozen=True, kw_only=True)
class TunedCount:
    """The best setting on the other half, and the line that suits it there."""

    count: DiscountedCount
    line: Recalibration


def with_line(line: Recalibration, foretold: Sequence[Foretold]) -> list[Foretold]:
    """Return the same forecasts with a line over them."""
    return [Foretold(chance_fraction=line.chance(one.chance_fraction), was_shown=one.was_shown) for one in foretold]


def tuned_count(train: Sequence[SimulatedClinician], told: Callable[[], None]) -> TunedCount:
    """Return the setting with the lowest log loss on these clinicians; `told` hears of each one tried."""
    best, least = SETTINGS[0], float("inf")
    for setting in SETTINGS:
        found = log_loss(setting.foretell(train))
        if found < least:
            best, least = setting, found
        told()
    return TunedCount(count=best, line=shrunk_recalibration(best.foretell(train)))


def _counts(clinicians: Sequence[SimulatedClinician]) -> tuple[Any, Any, Any]:
    """Return right answers, answers and days since the first, a row for each clinician."""
    right = [[sum(answer.credit_fraction for answer in day.answers) for day in one.episodes] for one in clinicians]
    asked = [[len(day.answers) for day in one.episodes] for one in clinicians]
    days = [[(day.day - one.episodes[0].day).days for day in one.episodes] for one in clinicians]
    return np.array(right), np.array(asked, dtype=np.float64), np.array(days, dtype=np.float64)


def _paired(chances: Any, clinicians: Sequence[SimulatedClinician]) -> list[Foretold]:
    rows = zip(chances.tolist(), clinicians, strict=True)
    return [
        Foretold(chance_fraction=chance, was_shown=truth)
        for row, one in rows
        for chance, truth in zip(row, one.truths, strict=True)
    ]
