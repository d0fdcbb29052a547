"""The exact chances of a form of fixed length."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from quizapp.psychometrics.binomial_form import binomial_tail, form_chances, shortest_form, suggested_cut

FORMS = st.integers(1, 120).flatmap(lambda n: st.tuples(st.just(n), st.integers(1, n)))
HUNDREDTHS = st.integers(0, 100).map(lambda whole: whole / 100)


@given(FORMS, HUNDREDTHS)
def test_the_tail_agrees_with_scipy(form, proportion):
    questions, cut = form
    assert binomial_tail(cut, questions, proportion) == pytest.approx(
        binom.sf(cut - 1, questions, proportion), abs=1e-12
    )


def test_the_tail_agrees_with_exact_fractions():
    proportion = Fraction(65, 100)
    exact = sum(comb(33, k) * proportion**k * (1 - proportion) ** (33 - k) for k in range(25, 34))
    assert binomial_tail(25, 33, 0.65) == pytest.approx(float(exact), rel=1e-12)


def test_the_tail_of_four_questions_agrees_with_writing_out_every_answer_sheet():
    sheets = [sheet for sheet in product([0, 1], repeat=4) if sum(sheet) >= 3]
    by_hand = sum(0.9 ** sum(sheet) * 0.1 ** (4 - sum(sheet)) for sheet in sheets)
    assert binomial_tail(3, 4, 0.9) == pytest.approx(by_hand, rel=1e-12)


@given(FORMS)
def test_a_higher_cut_passes_fewer_of_everybody(form):
    questions, cut = form
    here = form_chances(questions, cut)
    if cut < questions:
        higher = form_chances(questions, cut + 1)
        assert higher.weak_passes_fraction <= here.weak_passes_fraction
        assert higher.strong_misses_fraction >= here.strong_misses_fraction
    assert here.strong_misses_fraction == pytest.approx(1 - binomial_tail(cut, questions, 0.9), abs=1e-12)


def test_the_suggested_cut_is_the_lowest_that_keeps_both_targets():
    found = suggested_cut(33, weak_proportion=0.6, strong_proportion=0.85)
    assert found is not None
    assert found.cut == 25
    assert binom.sf(23, 33, 0.6) > 0.05
    assert suggested_cut(32, weak_proportion=0.6, strong_proportion=0.85) is None
    assert suggested_cut(2, most_weak_passes=0.01) is None


@pytest.mark.parametrize(
    ("weak", "strong", "target"),
    [(0.65, 0.9, 0.05), (0.5, 0.8, 0.05), (0.7, 0.95, 0.02), (0.4, 0.9, 0.2), (0, 1, 0.05)],
)
def test_no_shorter_form_does_by_trying_every_cut_of_every_length(weak, strong, target):
    found = shortest_form(
        weak_proportion=weak, strong_proportion=strong, most_weak_passes=target, most_strong_misses=target
    )
    for n in range(1, found.questions + 1):
        cuts = np.arange(1, n + 1)
        fits = cuts[(binom.sf(cuts - 1, n, weak) <= target) & (binom.cdf(cuts - 1, n, strong) <= target)]
        assert list(fits[:1]) == ([found.cut] if n == found.questions else [])


def test_targets_out_of_reach_are_said():
    with pytest.raises(ValueError, match="500"):
        shortest_form(weak_proportion=0.89, strong_proportion=0.9)


@pytest.mark.parametrize(("questions", "cut"), [(0, 1), (501, 3), (10, 0), (10, 11)])
def test_a_form_that_is_none_is_refused(questions, cut):
    with pytest.raises(ValueError, match="form"):
        form_chances(questions, cut)


def test_proportions_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="weak"):
        form_chances(10, 8, weak_proportion=0.9, strong_proportion=0.65)
    with pytest.raises(ValueError, match="between 0 and 1"):
        binomial_tail(1, 2, 1.5)


def test_the_form_says_both_errors_in_one_sentence():
    said = form_chances(33, 25, weak_proportion=0.6, strong_proportion=0.85).sentence
    assert said == (
        "33 questions, pass at 25: somebody right 60 % of the time passes with a chance of 4.4 %, "
        "somebody right 85 % of the time does not with 4.9 %."
    )
