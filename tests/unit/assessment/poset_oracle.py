"""What a partial order means, straight from the definition by trying every order; slow and obviously right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations
from random import Random

Pair = tuple[str, str]


def random_poset(seed: int, sizes: range) -> tuple[str, list[Pair], list[str]]:
    """Letters, pairs without a circle, and a performed order of all or most letters."""
    draw = Random(seed)
    size = draw.choice(sizes)
    letters = "abcdefgh"[:size]
    hidden = draw.sample(letters, size)
    share = draw.choice((0.15, 0.3, 0.6))
    pairs = [pair for pair in combinations(hidden, 2) if draw.random() < share]
    performed = draw.sample(letters, size if draw.random() < 0.7 else max(2, size - 2))
    return letters, pairs, performed


def every_valid_order(letters: str, pairs: Sequence[Pair]) -> Iterator[tuple[str, ...]]:
    for order in permutations(letters):
        if all(order.index(first) < order.index(then) for first, then in pairs):
            yield order


def implied_pairs(letters: str, valid: Sequence[tuple[str, ...]]) -> set[Pair]:
    """The pairs that stand the same way round in every valid order."""
    places = [{letter: index for index, letter in enumerate(order)} for order in valid]
    return {(x, y) for x, y in permutations(letters, 2) if all(place[x] < place[y] for place in places)}


def largest_consistent_size(performed: Sequence[str], implied: set[Pair]) -> int:
    """Tries the subsets of the performed steps, largest first."""
    for size in range(len(performed), 0, -1):
        for subset in combinations(performed, size):
            if not any((later, earlier) in implied for earlier, later in combinations(subset, 2)):
                return size
    return 0


def nearest_distance(performed: Sequence[str], valid: Sequence[tuple[str, ...]]) -> int:
    """The fewest pairs that stand differently in any valid order (Kendall tau)."""
    done = set(performed)
    kept = {tuple(letter for letter in order if letter in done) for order in valid}
    return min(_differing_pairs(performed, order) for order in kept)


def _differing_pairs(one: Sequence[str], other: Sequence[str]) -> int:
    place = {letter: index for index, letter in enumerate(other)}
    return sum(place[earlier] > place[later] for earlier, later in combinations(one, 2))
