"""The lowest place of a function of a few numbers, found by trying each number a step up and a step down.

It needs no derivative, always ends, and gives the same place on every machine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

Point = tuple[float, ...]


def lowest_place(
    cost: Callable[[Point], float],
    start: Sequence[float],
    steps: Sequence[float],
    *,
    halvings: int = 4,
    told: Callable[[float], None] | None = None,
) -> Point:
    """Return the place of the lowest cost that steps halved so many times reach from `start`.

    `steps`: the first step of each number, above 0. `told` hears each cost as it is known.
    Source: Hooke & Jeeves 1961, Journal of the ACM 8:212-229 (without the pattern move).
    """
    place, best = tuple(start), _said(cost(tuple(start)), told)
    widths = list(steps)
    for _ in range(halvings + 1):
        moved = True
        while moved:
            moved = False
            for at, width in enumerate(widths):
                for way in (width, -width):
                    tried = (*place[:at], place[at] + way, *place[at + 1 :])
                    found = _said(cost(tried), told)
                    if found < best:
                        place, best, moved = tried, found, True
                        break
        widths = [width / 2.0 for width in widths]
    return place


def _said(cost: float, told: Callable[[float], None] | None) -> float:
    if told is not None:
        told(cost)
    return cost
