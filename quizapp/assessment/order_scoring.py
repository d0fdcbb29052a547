"""How far a performed order is from the nearest valid one: broken pairs, steps out of place, exact distance.

Three numbers are kept apart on purpose: one step done far too early breaks many pairs yet is one step out of place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from quizapp.assessment.partial_order import Pair, PartialOrder, earlier_steps

MAX_DISTANCE_STEPS = 16
"""Finding the nearest valid order is NP-hard; up to this many steps the exact search stays under a second."""


@dataclass(frozen=True, kw_only=True)
class OrderScore:
    """What one performed order shows; counts are steps or pairs, `distance` counts swaps of neighbours."""

    performed: tuple[str, ...]
    judged: tuple[Pair, ...]
    broken: tuple[Pair, ...]
    not_assessable: tuple[Pair, ...]
    judged_weight: Fraction
    broken_weight: Fraction
    consistent: tuple[str, ...]
    distance: int | None

    @property
    def violations(self) -> int:
        """V: how many judged pairs were done the wrong way round."""
        return len(self.broken)

    @property
    def largest_consistent(self) -> int:
        """L: size of the largest set of done steps that already stand in a valid order."""
        return len(self.consistent)

    @property
    def misplaced(self) -> int:
        """The fewest steps that would have to move."""
        return len(self.performed) - len(self.consistent)

    @property
    def order_fraction(self) -> Fraction:
        """Weighted share of the judged pairs kept, 0 to 1; 1 where no pair was judged."""
        if not self.judged_weight:
            return Fraction(1)
        return 1 - self.broken_weight / self.judged_weight


def score_order(
    order: PartialOrder, performed: Sequence[str], pair_weights: Mapping[Pair, float] | None = None
) -> OrderScore:
    """Compare the steps that were done, in the order they were done, with a partial order.

    `performed` holds letters of the list, each at most once; `pair_weights` above 0, 1 where not given.
    A pair with a step that was not done is not judged: the omission is marked elsewhere, once.
    Raises ValueError for a repeated or unknown step.
    """
    done = tuple(performed)
    if len(set(done)) != len(done) or not set(done) <= set(order.steps):
        raise ValueError(f"{' '.join(done)} names a step twice or a step that is not in the list")
    place = {step: index for index, step in enumerate(done)}
    judged = tuple(sorted(pair for pair in order.closure if pair[0] in place and pair[1] in place))
    broken = tuple((first, then) for first, then in judged if place[then] < place[first])
    return OrderScore(
        performed=done,
        judged=judged,
        broken=broken,
        not_assessable=tuple(sorted(order.closure - set(judged))),
        judged_weight=_weight_of(judged, pair_weights),
        broken_weight=_weight_of(broken, pair_weights),
        consistent=largest_consistent_subset(done, broken),
        distance=distance_to_nearest_valid_order(order, done) if broken else 0,
    )


def _weight_of(pairs: Sequence[Pair], weights: Mapping[Pair, float] | None) -> Fraction:
    given = weights or {}
    return sum((Fraction(str(given.get(pair, 1))) for pair in pairs), Fraction(0))


def largest_consistent_subset(performed: Sequence[str], broken: Sequence[Pair]) -> tuple[str, ...]:
    """A largest set of the done steps with no broken pair between any two of them, in the order performed.

    "Must come first, yet was done later" is itself a strict partial order, so this is its largest antichain:
    the number of steps less a maximum matching (Dilworth 1950), and the set itself by König's theorem.
    """
    worse: dict[str, list[str]] = {step: [] for step in performed}
    for first, then in broken:
        worse[first].append(then)
    partner = maximum_matching(worse)
    reached_left, reached_right = _alternating_reach(worse, partner)
    return tuple(step for step in performed if step in reached_left and step not in reached_right)


def maximum_matching(edges: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """A maximum matching of a bipartite graph by augmenting paths: right vertex -> its left partner.

    `edges` gives for each left vertex the right vertices it may take. One search per left vertex, O(V E).
    """
    partner: dict[str, str] = {}

    def takes_one(left: str, tried: set[str]) -> bool:
        for right in edges[left]:
            if right in tried:
                continue
            tried.add(right)
            if right not in partner or takes_one(partner[right], tried):
                partner[right] = left
                return True
        return False

    for left in edges:
        takes_one(left, set())
    return partner


def _alternating_reach(edges: Mapping[str, Sequence[str]], partner: Mapping[str, str]) -> tuple[set[str], set[str]]:
    """Left and right vertices reached from the unmatched left ones by alternating paths (König's construction)."""
    matched_left = set(partner.values())
    waiting = [left for left in edges if left not in matched_left]
    reached_left, reached_right = set(waiting), set[str]()
    for left in waiting:
        for right in edges[left]:
            reached_right.add(right)
            if right in partner and partner[right] not in reached_left:
                reached_left.add(partner[right])
                waiting.append(partner[right])
    return reached_left, reached_right


def distance_to_nearest_valid_order(order: PartialOrder, performed: Sequence[str]) -> int | None:
    """The fewest swaps of neighbours that turn a performed order into a valid one (Kendall tau), exactly.

    Builds valid orders step by step over down-sets; placing a step next costs the number of steps performed
    before it that still wait. None above MAX_DISTANCE_STEPS steps. Never less than the number of broken pairs.
    """
    if len(performed) > MAX_DISTANCE_STEPS:
        return None
    earlier = earlier_steps(order)
    bit = {step: 1 << index for index, step in enumerate(performed)}
    needs = [(bit[step], sum(bit.get(before, 0) for before in earlier[step])) for step in performed]
    cost = {0: 0}
    for _ in performed:
        longer: dict[int, int] = {}
        for placed, so_far in cost.items():
            for step, needed in needs:
                if placed & step or placed & needed != needed:
                    continue
                price = so_far + ((step - 1) & ~placed).bit_count()
                if price < longer.get(placed | step, price + 1):
                    longer[placed | step] = price
        cost = longer
    return min(cost.values())
