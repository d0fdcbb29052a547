"""Wilson, Clopper-Pearson and the Poisson-binomial beside scipy, over a grid, and the published example values."""

from __future__ import annotations

import itertools

import pytest
from scipy.stats import binomtest, poisson_binom

from quizapp.psychometrics.intervals import clopper_pearson, wilson
from quizapp.psychometrics.poisson_binomial import chance_of_at_least, count_chances

TRIALS = (1, 2, 5, 16, 20, 24, 50, 200)
CELLS = [(k, n) for n in TRIALS for k in sorted({0, 1, n // 3, n // 2, n - 1, n})]


@pytest.mark.parametrize(("successes", "trials"), CELLS)
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_intervals_against_scipy(successes: int, trials: int, confidence: float) -> None:
    """scipy.stats.binomtest(...).proportion_ci with method wilson (no correction) and exact."""
    for ours, method in ((wilson, "wilson"), (clopper_pearson, "exact")):
        found = ours(successes, trials, confidence)
        reference = binomtest(successes, trials).proportion_ci(confidence, method=method)
        assert (found.lower_fraction, found.upper_fraction) == (
            pytest.approx(reference.low, abs=1e-9), pytest.approx(reference.high, abs=1e-9),
        )  # fmt: skip


def test_intervals_by_our_own_worked_values() -> None:
    """7 of 50: .0582 to .2674 and .0695 to .2619; 27 of 34 Wilson .632 to .897 (computed with scipy, kept here)."""
    exact, score = clopper_pearson(7, 50), wilson(7, 50)
    assert (round(exact.lower_fraction, 4), round(exact.upper_fraction, 4)) == (0.0582, 0.2674)
    assert (round(score.lower_fraction, 4), round(score.upper_fraction, 4)) == (0.0695, 0.2619)
    other = wilson(27, 34)
    assert (round(other.lower_fraction, 3), round(other.upper_fraction, 3)) == (0.632, 0.897)


CREWS = [(0.9, 0.8, 0.7), (0.95, 0.9, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5), (1.0, 0.0, 0.5), (0.01,) * 30, (1.0,) * 24]


@pytest.mark.parametrize("chances", CREWS, ids=len)
def test_counts_against_scipy(chances: tuple[float, ...]) -> None:
    reference = poisson_binom(chances)
    counts = range(len(chances) + 1)
    assert count_chances(chances) == pytest.approx(list(reference.pmf(counts)), abs=1e-12)
    for least, _ in itertools.product(counts, (0,)):
        assert chance_of_at_least(least, chances) == pytest.approx(reference.sf(least - 1), abs=1e-12)


def test_a_crew_by_our_own_worked_values() -> None:
    """Three of .9, .8, .7: two or more with .902; eight people: six or more .7508, five or more .9338."""
    assert chance_of_at_least(2, CREWS[0]) == pytest.approx(0.902)
    assert chance_of_at_least(6, CREWS[1]) == pytest.approx(0.7508, abs=5e-5)
    assert chance_of_at_least(5, CREWS[1]) == pytest.approx(0.9338, abs=5e-5)
