"""Agreement of two assessors."""

from __future__ import annotations

from statistics import fmean, pvariance

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from quizapp.psychometrics.agreement import Weighting, agreement, weighted_kappa


def tables(size: int) -> st.SearchStrategy[list[list[int]]]:
    return st.lists(st.lists(st.integers(0, 20), min_size=size, max_size=size), min_size=size, max_size=size)


@given(tables(4))
def test_quadratic_weights_give_the_concordance_of_the_two_scores(table):
    """Fleiss & Cohen 1973, Educ Psychol Meas 33:613-619: quadratic kappa is an intraclass correlation."""
    pairs = [(i, j) for i in range(4) for j in range(4) for _ in range(table[i][j])]
    assume(pairs)
    one, other = [i for i, _ in pairs], [j for _, j in pairs]
    spread = pvariance(one) + pvariance(other) + (fmean(one) - fmean(other)) ** 2
    assume(spread > 0)
    covariance = fmean([i * j for i, j in pairs]) - fmean(one) * fmean(other)
    assert weighted_kappa(table, Weighting.QUADRATIC) == pytest.approx(2 * covariance / spread, abs=1e-9)


@given(tables(2))
def test_with_two_answers_every_weighting_is_plain_kappa(table):
    assume(sum(map(sum, table)))
    kappa = agreement(table).kappa
    for weighting in Weighting:
        weighted = weighted_kappa(table, weighting)
        assert (weighted is None) == (kappa is None)
        assert kappa is None or weighted == pytest.approx(kappa, abs=1e-9)


def test_a_near_miss_costs_less_than_a_far_one_when_answers_are_ordered():
    near = [[8, 2, 0], [0, 10, 0], [0, 0, 10]]
    far = [[8, 0, 2], [0, 10, 0], [0, 0, 10]]
    for weighting in Weighting:
        close, distant = weighted_kappa(near, weighting), weighted_kappa(far, weighting)
        assert close is not None
        assert distant is not None
        assert close > distant
    assert agreement(near).observed_fraction == agreement(far).observed_fraction


@given(tables(3))
def test_exchanging_the_assessors_changes_nothing(table):
    assume(sum(map(sum, table)))
    turned = [list(column) for column in zip(*table, strict=True)]
    here, there = agreement(table), agreement(turned)
    assert here.prevalence_fractions == pytest.approx(there.prevalence_fractions)
    assert (here.kappa is None) == (there.kappa is None)
    assert here.kappa is None or here.kappa == pytest.approx(there.kappa, abs=1e-9)


def test_full_agreement_is_one_and_one_single_answer_says_nothing():
    full = agreement([[7, 0], [0, 5]])
    assert full.kappa == pytest.approx(1.0)
    assert full.kappa_standard_error == pytest.approx(0.0, abs=1e-9)
    one_answer = agreement([[12, 0], [0, 0]])
    assert one_answer.kappa is None
    assert one_answer.observed_fraction == 1.0


@pytest.mark.parametrize("table", [[[1]], [[1, 2]], [[1, 2], [3]], [[0, 0], [0, 0]], [[1, -1], [2, 3]]])
def test_what_is_no_table_of_counts_is_refused(table):
    with pytest.raises(ValueError, match=r"square|performance|negative"):
        agreement(table)
