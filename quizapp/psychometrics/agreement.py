"""How far two assessors agree about the same performances.

Kappa alone misleads when one answer is rare, so observed agreement, prevalence and 2po-1 always stand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import fsum, sqrt

DOUBLE_OBSERVATIONS_NEEDED = 30
"""Below this number of double observations nothing is said about an assessor (common practice, no source)."""


class Weighting(StrEnum):
    """How much a disagreement counts by its distance on an ordered scale."""

    LINEAR = "linear"
    QUADRATIC = "quadratic"


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """Agreement of two assessors; fractions 0 to 1 except kappas, which run from -1 to 1.

    `kappa` and `kappa_standard_error` are None when both assessors gave one and the same answer every time.
    `prevalence_fractions` is the mean share of each answer over both assessors.
    """

    performances: int
    observed_fraction: float
    expected_fraction: float
    kappa: float | None
    kappa_standard_error: float | None
    prevalence_fractions: tuple[float, ...]
    prevalence_adjusted_kappa: float


def agreement(table: Sequence[Sequence[int]]) -> Agreement:
    """Give the agreement in a square table of counts (rows: one assessor's answers, columns: the other's).

    At least two answers and one performance; raises ValueError otherwise.
    Sources: Cohen 1960, Educ Psychol Meas 20:37-46; standard error Fleiss, Cohen & Everitt 1969, Psychol Bull
    72:323-327; prevalence-adjusted kappa (2po-1 for two answers) Byrt, Bishop & Carlin 1993, J Clin Epidemiol
    46:423-429.
    """
    shares = _shares(table)
    answers = range(len(shares))
    rows, columns = _margins(shares)
    observed = fsum(shares[i][i] for i in answers)
    expected = fsum(rows[i] * columns[i] for i in answers)
    performances = sum(sum(row) for row in table)
    kappa = None if expected >= 1.0 else (observed - expected) / (1.0 - expected)
    return Agreement(
        performances=performances,
        observed_fraction=observed,
        expected_fraction=expected,
        kappa=kappa,
        kappa_standard_error=None if kappa is None else _standard_error(shares, kappa, expected, performances),
        prevalence_fractions=tuple((rows[i] + columns[i]) / 2.0 for i in answers),
        prevalence_adjusted_kappa=(len(shares) * observed - 1.0) / (len(shares) - 1.0),
    )


def weighted_kappa(table: Sequence[Sequence[int]], weighting: Weighting) -> float | None:
    """Give kappa for ordered answers, disagreements weighted by distance; None when no disagreement is possible.

    Table and errors as `agreement`. Source: Cohen 1968, Psychol Bull 70:213-220.
    """
    shares = _shares(table)
    rows, columns = _margins(shares)
    power = 1 if weighting is Weighting.LINEAR else 2
    cells = [(i, j, float(abs(i - j) ** power)) for i in range(len(shares)) for j in range(len(shares))]
    by_chance = fsum(weight * rows[i] * columns[j] for i, j, weight in cells)
    if by_chance == 0.0:
        return None
    return 1.0 - fsum(weight * shares[i][j] for i, j, weight in cells) / by_chance


def _shares(table: Sequence[Sequence[int]]) -> list[list[float]]:
    if len(table) < 2 or any(len(row) != len(table) for row in table):
        raise ValueError("agreement needs a square table with at least two answers")
    if any(count < 0 for row in table for count in row):
        raise ValueError("counts are never negative")
    total = sum(sum(row) for row in table)
    if total == 0:
        raise ValueError("agreement needs at least one performance that both observed")
    return [[count / total for count in row] for row in table]


def _margins(shares: list[list[float]]) -> tuple[list[float], list[float]]:
    return [fsum(row) for row in shares], [fsum(column) for column in zip(*shares, strict=True)]


def _standard_error(shares: list[list[float]], kappa: float, expected: float, performances: int) -> float:
    rows, columns = _margins(shares)
    answers = range(len(shares))
    on = fsum(shares[i][i] * (1.0 - (rows[i] + columns[i]) * (1.0 - kappa)) ** 2 for i in answers)
    off = fsum(shares[i][j] * (columns[i] + rows[j]) ** 2 for i in answers for j in answers if i != j)
    rest = (kappa - expected * (1.0 - kappa)) ** 2
    variance = (on + (1.0 - kappa) ** 2 * off - rest) / (performances * (1.0 - expected) ** 2)
    return sqrt(max(variance, 0.0))
