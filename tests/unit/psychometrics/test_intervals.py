"""Intervals of a proportion against scipy, and the cover they promise."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from quizapp.psychometrics.intervals import clopper_pearson, wilson

COUNTS = st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
CONFIDENCES = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99])


@given(COUNTS, CONFIDENCES)
def test_wilson_agrees_with_scipy(counts, confidence):
    theirs = binomtest(*counts).proportion_ci(confidence, method="wilson")
    ours = wilson(*counts, confidence)
    assert (ours.lower_fraction, ours.upper_fraction) == pytest.approx((theirs.low, theirs.high), abs=1e-10)


@given(COUNTS, CONFIDENCES)
def test_clopper_pearson_agrees_with_scipy(counts, confidence):
    theirs = binomtest(*counts).proportion_ci(confidence, method="exact")
    ours = clopper_pearson(*counts, confidence)
    assert (ours.lower_fraction, ours.upper_fraction) == pytest.approx((theirs.low, theirs.high), abs=1e-10)


@given(COUNTS)
def test_an_interval_holds_the_share_and_mirrors(counts):
    successes, trials = counts
    for method in (wilson, clopper_pearson):
        here, mirrored = method(successes, trials), method(trials - successes, trials)
        assert here.lower_fraction <= successes / trials <= here.upper_fraction
        assert here.lower_fraction == pytest.approx(1 - mirrored.upper_fraction, abs=1e-12)


@pytest.mark.parametrize("proportion", [0.02, 0.3, 0.65, 0.9])
def test_clopper_pearson_covers_as_often_as_promised(proportion):
    trials = 20
    bounds = [clopper_pearson(k, trials) for k in range(trials + 1)]
    cover = sum(
        binom.pmf(k, trials, proportion)
        for k, bound in enumerate(bounds)
        if bound.lower_fraction <= proportion <= bound.upper_fraction
    )
    assert cover >= 0.95


@pytest.mark.parametrize(
    ("successes", "trials", "confidence"), [(1, 0, 0.95), (-1, 4, 0.95), (5, 4, 0.95), (1, 4, 1.0)]
)
def test_what_is_no_proportion_is_refused(successes, trials, confidence):
    for method in (wilson, clopper_pearson):
        with pytest.raises(ValueError, match=r"proportion|confidence"):
            method(successes, trials, confidence)
