from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from poset_oracle import every_valid_order, implied_pairs, largest_consistent_size, nearest_distance, random_poset
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from quizapp.assessment.order_scoring import (
    MAX_DISTANCE_STEPS,
    distance_to_nearest_valid_order,
    largest_consistent_subset,
    maximum_matching,
    score_order,
)
from quizapp.assessment.partial_order import partial_order

SET_UP = partial_order("ABCDEFGH", [(pair[0], pair[1]) for pair in ("AB", "BE", "CE", "DE", "EF", "FG", "FH")])


@pytest.mark.parametrize(
    ("performed", "violations", "consistent", "distance"),
    [  # constructed and worked by hand: V, L, d
        ("DCABEFHG", 0, 8, 0),
        ("ABCEDFGH", 1, 7, 1),  # one check late
        ("FABCDEGH", 5, 7, 5),  # attached to the patient before any check: five faults, one step
        ("HGFEDCBA", 22, 3, 22),
    ],
)
def test_worked_orders(performed: str, violations: int, consistent: int, distance: int) -> None:
    score = score_order(SET_UP, performed)
    assert len(score.judged) == 22
    assert (score.violations, score.largest_consistent, score.distance) == (violations, consistent, distance)
    assert score.misplaced == 8 - consistent
    assert score.order_fraction == 1 - Fraction(violations, 22)


def test_the_kept_steps_are_named_and_the_others_are_what_moved() -> None:
    assert score_order(SET_UP, "FABCDEGH").consistent == tuple("ABCDEGH")


def test_an_omitted_step_is_not_punished_twice() -> None:
    order = partial_order("abc", [("a", "b"), ("b", "c")])
    score = score_order(order, "ca")
    assert score.broken == (("a", "c"),)
    assert score.judged == (("a", "c"),)
    assert score.not_assessable == (("a", "b"), ("b", "c"))


def test_weights_of_pairs_count_exactly() -> None:
    order = partial_order("abcd", [("a", "b"), ("c", "d")])
    score = score_order(order, "bacd", {("a", "b"): 0.1, ("c", "d"): 0.2})
    assert score.order_fraction == Fraction(2, 3)


def test_no_judged_pair_is_full_order() -> None:
    assert score_order(partial_order("ab", []), "ba").order_fraction == 1
    assert score_order(partial_order("ab", [("a", "b")]), "").order_fraction == 1


def test_repeated_and_unknown_steps_are_refused() -> None:
    for performed in ("aab", "abz"):
        with pytest.raises(ValueError, match="twice or a step that is not"):
            score_order(partial_order("ab", []), performed)


def test_distance_can_exceed_the_broken_pairs() -> None:
    # c before a, done a b c: one pair is broken, but c (or a) has to pass the free step b as well
    score = score_order(partial_order("abc", [("c", "a")]), "abc")
    assert (score.violations, score.misplaced, score.distance) == (1, 1, 2)


def test_distance_has_no_answer_above_sixteen_steps() -> None:
    letters = "abcdefghijklmnopq"
    order = partial_order(letters, [("a", "b")])
    assert len(letters) == MAX_DISTANCE_STEPS + 1
    assert score_order(order, letters[::-1]).distance is None
    assert distance_to_nearest_valid_order(order, letters[1::-1] + letters[2:16]) == 1


@pytest.mark.parametrize("seed", range(400))
def test_against_every_order_tried_for_distance(seed: int) -> None:
    check_score(seed, range(4, 7))


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(20_000, 22_000))
def test_against_every_order_tried_for_distance_at_length(seed: int) -> None:
    check_score(seed, range(4, 8))


def check_score(seed: int, sizes: range) -> None:
    letters, pairs, performed = random_poset(seed, sizes)
    valid = list(every_valid_order(letters, pairs))
    implied = implied_pairs(letters, valid)
    score = score_order(partial_order(letters, pairs), performed)
    place = {letter: index for index, letter in enumerate(performed)}
    broken = {(x, y) for x, y in implied if x in place and y in place and place[y] < place[x]}
    assert set(score.broken) == broken
    assert score.largest_consistent == largest_consistent_size(performed, implied)
    kept = score.consistent
    assert not any((later, earlier) in implied for i, earlier in enumerate(kept) for later in kept[i + 1 :])
    assert score.distance == nearest_distance(performed, valid)
    assert score.distance >= score.violations


@pytest.mark.parametrize("seed", range(60))
def test_matching_against_the_library(seed: int) -> None:
    draw = Random(seed)
    left, right = draw.randint(1, 40), draw.randint(1, 40)
    table = np.array([[draw.random() < 0.08 for _ in range(right)] for _ in range(left)])
    edges = {f"l{i}": [f"r{j}" for j in range(right) if table[i, j]] for i in range(left)}
    ours = maximum_matching(edges)
    library = maximum_bipartite_matching(csr_matrix(table), perm_type="column")
    assert len(ours) == int((library >= 0).sum())
    assert len(set(ours.values())) == len(ours)
    assert all(taken in edges[taker] for taken, taker in ours.items())


@given(st.permutations("abcdefghijkl"))
def test_a_full_chain_keeps_its_longest_rising_run(performed: list[str]) -> None:
    """For a chain the largest consistent set is the longest increasing subsequence, and d counts the inversions."""
    chain = partial_order("abcdefghijkl", list(zip("abcdefghijk", "bcdefghijkl", strict=True)))
    best: list[int] = []
    for i, letter in enumerate(performed):
        best.append(1 + max((best[j] for j in range(i) if performed[j] < letter), default=0))
    score = score_order(chain, performed)
    assert len(largest_consistent_subset(performed, score.broken)) == max(best)
    assert score.distance == score.violations
