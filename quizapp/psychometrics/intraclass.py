"""How far totals given by pairs of assessors belong to the performance and not to who happened to watch it.

One-way: each performance has assessors of its own, as in routine double observations, where pairs change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum


@dataclass(frozen=True, kw_only=True)
class IntraclassCorrelation:
    """ICC(1,1) over performances; `single` is None where no total differs from any other.

    `lower` and `upper` bound it at `confidence_fraction`; they are None together with `single`.
    """

    performances: int
    assessors_each: int
    single: float | None
    lower: float | None
    upper: float | None
    confidence_fraction: float


def one_way_intraclass(totals: Sequence[Sequence[float]], confidence_fraction: float = 0.95) -> IntraclassCorrelation:
    """Give ICC(1,1) of totals, one row for each performance with one total from each of its assessors.

    At least two performances, each with the same number (at least two) of totals; raises ValueError otherwise.
    Source: Shrout & Fleiss 1979, Psychol Bull 86:420-428, case 1, with the interval given there.
    """
    performances, each = len(totals), len(totals[0]) if totals else 0
    if performances < 2 or each < 2 or any(len(row) != each for row in totals):
        raise ValueError("an intraclass correlation needs two performances and two totals for each of them")
    between, within = _mean_squares(totals)
    bounds = _bounds(between, within, performances, each, confidence_fraction)
    return IntraclassCorrelation(
        performances=performances,
        assessors_each=each,
        single=_ratio(between, within, each),
        lower=bounds[0],
        upper=bounds[1],
        confidence_fraction=confidence_fraction,
    )


def _mean_squares(totals: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Mean squares between and within performances."""
    count, each = len(totals), len(totals[0])
    means = [fsum(row) / each for row in totals]
    overall = fsum(means) / count
    between = each * fsum((mean - overall) ** 2 for mean in means) / (count - 1)
    within = fsum((total - mean) ** 2 for row, mean in zip(totals, means, strict=True) for total in row)
    return between, within / (count * (each - 1))


def _ratio(between: float, within: float, each: int) -> float | None:
    spread = between + (each - 1) * within
    return None if spread == 0.0 else (between - within) / spread


def _bounds(
    between: float, within: float, performances: int, each: int, confidence_fraction: float
) -> tuple[float | None, float | None]:
    if between == 0.0 and within == 0.0:
        return None, None
    if within == 0.0:
        return 1.0, 1.0
    from scipy.stats import f as f_distribution  # only here: a cold start must not wait for it

    tail = 1 - (1 - confidence_fraction) / 2
    over, under = performances - 1, performances * (each - 1)
    ratio = between / within
    low = ratio / float(f_distribution.ppf(tail, over, under))
    high = ratio * float(f_distribution.ppf(tail, under, over))
    return (low - 1) / (low + each - 1), (high - 1) / (high + each - 1)
