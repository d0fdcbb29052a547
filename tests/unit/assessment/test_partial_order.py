import re

import pytest
from poset_oracle import every_valid_order, implied_pairs, random_poset

from quizapp.assessment.partial_order import (
    CyclicOrderError,
    UncountableOrderError,
    count_valid_orders,
    cycle_in_words,
    find_cycle,
    first_valid_order,
    is_valid_order,
    partial_order,
    redundant_pairs,
)


def pairs_of(words: str) -> list[tuple[str, str]]:
    return [(word[0], word[1]) for word in words.split()]


def test_pairs_that_follow_are_found() -> None:
    order = partial_order("abcd", pairs_of("ab bc"))
    assert order.closure == {("a", "b"), ("b", "c"), ("a", "c")}
    assert order.path("a", "c") == ("a", "b", "c")
    assert order.path("c", "a") == ()
    assert order.path("a", "d") == ()


def test_the_shortest_path_is_told() -> None:
    assert partial_order("abc", pairs_of("ab bc ac")).path("a", "c") == ("a", "c")


@pytest.mark.parametrize(
    ("pairs", "cycle", "words"),
    [
        ("ab bc ca", "abc", "a before b, b before c, but c before a: no order can satisfy all of them"),
        ("ab ba", "ab", "a before b, but b before a: no order can satisfy all of them"),
        ("ab bc cd db", "bcd", "b before c, c before d, but d before b: no order can satisfy all of them"),
        ("cc", "c", "c before itself: no order can satisfy that"),
    ],
)
def test_a_circle_is_said_in_words(pairs: str, cycle: str, words: str) -> None:
    assert find_cycle("abcd", pairs_of(pairs)) == tuple(cycle)
    assert cycle_in_words(tuple(cycle)) == words
    with pytest.raises(CyclicOrderError, match=re.escape(words)):
        partial_order("abcd", pairs_of(pairs))


def test_the_shortest_circle_is_the_one_told() -> None:
    assert find_cycle("abcde", pairs_of("ab bc cd da de ed")) == ("d", "e")


def test_no_circle_no_words() -> None:
    assert find_cycle("abc", pairs_of("ab bc ac")) == ()


def test_unknown_and_repeated_steps_are_refused() -> None:
    with pytest.raises(ValueError, match="z, which is no step"):
        partial_order("abc", pairs_of("az"))
    with pytest.raises(ValueError, match="listed twice"):
        partial_order("aba", [])


def test_redundant_pairs_name_what_they_follow_from() -> None:
    order = partial_order("abcd", pairs_of("ab bc ac cd ad"))
    assert redundant_pairs(order) == {("a", "c"): tuple("abc"), ("a", "d"): tuple("acd")}


def test_a_chain_through_a_step_some_devices_lack_makes_nothing_redundant() -> None:
    order = partial_order("abc", pairs_of("ab bc ac"))
    assert redundant_pairs(order, not_everywhere="b") == {}
    assert redundant_pairs(order, not_everywhere="ac") == {("a", "c"): tuple("abc")}


@pytest.mark.parametrize(
    ("letters", "pairs", "count"),
    [
        ("a", "", 1),
        ("abc", "", 6),
        ("abc", "ab bc", 1),
        ("abcd", "ab cd", 6),  # two chains of two: 4!/(2! 2!)
        ("abcdef", "ab cd ef", 90),  # three chains of two: 6!/(2! 2! 2!)
        ("abcd", "ab cb ad cd", 4),  # two minima under two maxima
        ("ABCDEFGH", "AB BE CE DE EF FG FH", 24),  # 12 orders of A to D with A before B, then E, F, then 2
    ],
)
def test_counts_worked_by_hand(letters: str, pairs: str, count: int) -> None:
    assert count_valid_orders(partial_order(letters, pairs_of(pairs))) == count


def test_twenty_six_steps_in_separate_parts_are_counted_at_once() -> None:
    letters = "abcdefghijklmnopqrstuvwxyz"
    order = partial_order(letters, pairs_of("ab cd ef gh ij kl mn op qr st uv wx yz"))
    # thirteen chains of two: 26! / 2**13 (the orders of a multiset)
    assert count_valid_orders(order) == 403291461126605635584000000 // 2**13


def test_a_list_too_loose_to_count_says_so() -> None:
    letters = "abcdefghijklmnopqrstuvwxyz"
    loose = partial_order(letters, [("a", letter) for letter in letters[1:]])
    with pytest.raises(UncountableOrderError, match="26 steps"):
        count_valid_orders(loose)


def test_valid_orders_are_told_from_others() -> None:
    order = partial_order("abcd", pairs_of("ab bc"))
    assert is_valid_order(order, "dabc")
    assert is_valid_order(order, "ac")
    assert not is_valid_order(order, "ca")
    assert first_valid_order(partial_order("cab", pairs_of("ab bc"))) == tuple("abc")


@pytest.mark.parametrize("seed", range(400))
def test_against_every_order_tried(seed: int) -> None:
    check_against_every_order(seed, range(3, 7))


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(10_000, 12_000))
def test_against_every_order_tried_at_length(seed: int) -> None:
    check_against_every_order(seed, range(4, 8))


def check_against_every_order(seed: int, sizes: range) -> None:
    letters, pairs, _ = random_poset(seed, sizes)
    order = partial_order(letters, pairs)
    valid = list(every_valid_order(letters, pairs))
    assert count_valid_orders(order) == len(valid)
    assert order.closure == implied_pairs(letters, valid)
    assert first_valid_order(order) in valid
    for pair in redundant_pairs(order):
        assert order.closure == partial_order(letters, set(pairs) - {pair}).closure
