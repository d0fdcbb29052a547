"""The count of people for whom something holds."""

from __future__ import annotations

from itertools import product
from math import fsum, prod

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from quizapp.psychometrics.poisson_binomial import chance_of_at_least, count_chances, count_variance, expected_count

CHANCES = st.lists(st.floats(0, 1), max_size=9)


@given(CHANCES)
def test_the_counts_agree_with_writing_out_every_case(probabilities):
    written_out = [0.0] * (len(probabilities) + 1)
    for case in product([False, True], repeat=len(probabilities)):
        written_out[sum(case)] += prod(p if there else 1 - p for p, there in zip(probabilities, case, strict=True))
    assert count_chances(probabilities) == pytest.approx(written_out, abs=1e-12)


@given(CHANCES)
def test_mean_and_variance_are_those_of_the_counts(probabilities):
    chances = count_chances(probabilities)
    mean = fsum(k * chance for k, chance in enumerate(chances))
    assert mean == pytest.approx(expected_count(probabilities), abs=1e-12)
    assert fsum((k - mean) ** 2 * c for k, c in enumerate(chances)) == pytest.approx(
        count_variance(probabilities), abs=1e-12
    )


@given(st.integers(0, 60), st.integers(0, 100), st.integers(-1, 61))
def test_equal_chances_give_the_binomial(people, hundredths, at_least):
    chance = chance_of_at_least(at_least, [hundredths / 100] * people)
    assert chance == pytest.approx(binom.sf(at_least - 1, people, hundredths / 100), abs=1e-12)


def test_a_chance_outside_its_range_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        count_chances([0.5, 1.2])
