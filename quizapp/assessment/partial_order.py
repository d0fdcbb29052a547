"""A procedure's real order: which steps must come before which, and nothing more.

Steps are named by letters; a pair (x, y) says "x before y". Everything here is exact and pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import comb

Pair = tuple[str, str]

MAX_DOWN_SETS = 400_000
"""Counting walks the sets of steps that can come first; a list looser than this is not counted (about 2 s)."""


class CyclicOrderError(ValueError):
    """The pairs run in a circle, so no order of the steps could satisfy them.

    `cycle` lists the letters on the circle once each.
    """

    def __init__(self, cycle: tuple[str, ...]) -> None:
        super().__init__(cycle_in_words(cycle))
        self.cycle = cycle


class UncountableOrderError(ValueError):
    """The list leaves so many steps free that its valid orders cannot be counted in reasonable time."""


@dataclass(frozen=True)
class PartialOrder:
    """Steps and the pairs stated between them; build it with `partial_order`, which refuses nonsense."""

    steps: tuple[str, ...]
    stated: frozenset[Pair]

    @cached_property
    def closure(self) -> frozenset[Pair]:
        """Every pair that must hold: those stated and those that follow from them."""
        later = _steps_after_each(self.steps, self.stated)
        return frozenset((first, then) for first in self.steps for then in later[first])

    def path(self, first: str, then: str) -> tuple[str, ...]:
        """The shortest chain of stated pairs from `first` to `then`, both included; empty if there is none."""
        trail: dict[str, str] = {first: ""}
        waiting = [first]
        for here in waiting:
            for step in sorted(after for before, after in self.stated if before == here and after not in trail):
                trail[step] = here
                waiting.append(step)
        if then not in trail or first == then:
            return ()
        chain = [then]
        while trail[chain[-1]]:
            chain.append(trail[chain[-1]])
        return tuple(reversed(chain))


def partial_order(steps: Sequence[str], pairs: Iterable[Pair]) -> PartialOrder:
    """The partial order of these steps under these pairs.

    Raises ValueError for a repeated step or a pair naming an unknown step, CyclicOrderError for a circle.
    """
    letters = tuple(steps)
    stated = frozenset(pairs)
    if len(set(letters)) != len(letters):
        raise ValueError(f"a step is listed twice among {', '.join(letters)}")
    unknown = sorted({letter for pair in stated for letter in pair} - set(letters))
    if unknown:
        raise ValueError(f"a pair names {', '.join(unknown)}, which is no step of this list")
    cycle = find_cycle(letters, stated)
    if cycle:
        raise CyclicOrderError(cycle)
    return PartialOrder(letters, stated)


def find_cycle(steps: Sequence[str], pairs: Iterable[Pair]) -> tuple[str, ...]:
    """The letters on one circle of pairs, in its own order and starting at the earliest step; empty without one."""
    after: dict[str, list[str]] = {step: [] for step in steps}
    for first, then in sorted(pairs):
        after[first].append(then)
    shortest: tuple[str, ...] = ()
    for start in steps:
        found = _way_back_to(start, after)
        if found and (not shortest or len(found) < len(shortest)):
            shortest = found
    return shortest


def _way_back_to(start: str, after: dict[str, list[str]]) -> tuple[str, ...]:
    came_from: dict[str, str] = {}
    waiting = [start]
    for here in waiting:
        for step in after[here]:
            if step == start:
                trail = [here]
                while trail[-1] != start:
                    trail.append(came_from[trail[-1]])
                return tuple(reversed(trail))
            if step not in came_from:
                came_from[step] = here
                waiting.append(step)
    return ()


def cycle_in_words(cycle: Sequence[str]) -> str:
    """One circle as a sentence, for instance "a before b, b before c, but c before a: no order can satisfy all"."""
    if len(cycle) == 1:
        return f"{cycle[0]} before itself: no order can satisfy that"
    *links, last = [f"{first} before {then}" for first, then in zip(cycle, [*cycle[1:], cycle[0]], strict=True)]
    return f"{', '.join(links)}, but {last}: no order can satisfy all of them"


def redundant_pairs(order: PartialOrder, *, not_everywhere: Iterable[str] = ()) -> dict[Pair, tuple[str, ...]]:
    """The stated pairs that say nothing new, each with the chain of other pairs it follows from.

    A chain through a step that some devices lack (`not_everywhere`) does not make a pair redundant.
    """
    passing = set(not_everywhere)
    redundant = {}
    for first, then in sorted(order.stated):
        kept = {
            (before, after)
            for before, after in order.stated - {(first, then)}
            if not (after in passing and after != then) and not (before in passing and before != first)
        }
        chain = PartialOrder(order.steps, frozenset(kept)).path(first, then)
        if chain:
            redundant[first, then] = chain
    return redundant


def is_valid_order(order: PartialOrder, performed: Sequence[str]) -> bool:
    """Whether a sequence of some or all steps, each at most once, breaks no pair."""
    place = {step: index for index, step in enumerate(performed)}
    return all(place[first] < place[then] for first, then in order.closure if first in place and then in place)


def first_valid_order(order: PartialOrder) -> tuple[str, ...]:
    """The valid order that stays closest to the order in which the steps are listed."""
    earlier = earlier_steps(order)
    placed: list[str] = []
    waiting = list(order.steps)
    while waiting:
        ready = next(step for step in waiting if earlier[step] <= set(placed))
        placed.append(ready)
        waiting.remove(ready)
    return tuple(placed)


def count_valid_orders(order: PartialOrder) -> int:
    """How many orders of all steps satisfy every pair (the linear extensions), exactly.

    Parts that share no pair are counted apart and interleaved; within a part the sets of steps that can come
    first are walked (dynamic programming over down-sets). Raises UncountableOrderError beyond MAX_DOWN_SETS of them.
    """
    total, placed = 1, 0
    for part in _parts(order):
        placed += len(part)
        total *= comb(placed, len(part)) * _count_part(order, part)
    return total


def earlier_steps(order: PartialOrder) -> dict[str, frozenset[str]]:
    """For each step all steps that must come before it."""
    earlier: dict[str, set[str]] = {step: set() for step in order.steps}
    for first, then in order.closure:
        earlier[then].add(first)
    return {step: frozenset(before) for step, before in earlier.items()}


def _count_part(order: PartialOrder, part: Sequence[str]) -> int:
    bit = {step: 1 << index for index, step in enumerate(part)}
    earlier = earlier_steps(order)
    needs = [(bit[step], sum(bit[before] for before in earlier[step])) for step in part]
    ways = {0: 1}
    visited = 0
    for _ in part:
        longer: dict[int, int] = {}
        for done, count in ways.items():
            for step, needed in needs:
                if not done & step and done & needed == needed:
                    longer[done | step] = longer.get(done | step, 0) + count
        ways = longer
        visited += len(ways)
        if visited > MAX_DOWN_SETS:
            raise UncountableOrderError(
                f"{len(part)} steps with so few pairs between them have too many valid orders to count; "
                "state the pairs that are real, or split the list"
            )
    return sum(ways.values())


def _parts(order: PartialOrder) -> list[list[str]]:
    """The steps grouped so that no pair joins two groups."""
    group = {step: {step} for step in order.steps}
    for first, then in order.stated:
        joined = group[first] | group[then]
        for step in joined:
            group[step] = joined
    parts: list[list[str]] = []
    for step in order.steps:
        if not any(step in part for part in parts):
            parts.append([other for other in order.steps if other in group[step]])
    return parts


def _steps_after_each(steps: Sequence[str], pairs: Iterable[Pair]) -> dict[str, set[str]]:
    later: dict[str, set[str]] = {step: set() for step in steps}
    for first, then in pairs:
        later[first].add(then)
    for middle in steps:
        for first in steps:
            if middle in later[first]:
                later[first] |= later[middle]
    return later
