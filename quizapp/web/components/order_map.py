"""The map of what must come before what: each step as far right as its longest chain of forerunners."""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

COLUMN_WIDTH = 62
ROW_HEIGHT = 38
MARGIN = 20
SWEEPS = 6
RADIUS = 15
TIP_LENGTH = 9
TIP_WIDTH = 8
Slot = tuple[int, str]


@dataclass(frozen=True, kw_only=True)
class MapNode:
    """One step of the map, by its letter."""

    key: str
    x: int
    y: int
    is_critical: bool


@dataclass(frozen=True, kw_only=True)
class OrderMap:
    """The drawing: size, letters, lines, the arrow's tip of each line, and the same in words."""

    width: int
    height: int
    nodes: tuple[MapNode, ...]
    lines: tuple[str, ...]
    tips: tuple[str, ...]
    words: str


def order_map(keys: Sequence[str], before: Collection[tuple[str, str]], critical: Collection[str]) -> OrderMap:
    """Return the map of `keys`; `before` holds only the direct pairs (earlier, later) of an order without a cycle.

    Raises ValueError when the pairs form a cycle.
    """
    columns = _columns(keys, before)
    routes = {pair: _route(pair, columns) for pair in sorted(before)}
    places = _places(_rows(keys, columns, list(routes.values())))
    widest, tallest = (max((place[axis] for place in places.values()), default=0) for axis in (0, 1))
    nodes = tuple(
        MapNode(key=key, x=x, y=y, is_critical=key in critical) for key, (x, y) in _steps(keys, columns, places)
    )
    lines = tuple("M" + "L".join(f"{x} {y}" for x, y in (places[slot] for slot in route)) for route in routes.values())
    tips = tuple(_tip(places[route[-2]], places[route[-1]]) for route in routes.values())
    return OrderMap(
        width=widest + MARGIN,
        height=tallest + MARGIN,
        nodes=nodes,
        lines=lines,
        tips=tips,
        words=order_in_words(keys, before),
    )


def order_in_words(keys: Sequence[str], before: Collection[tuple[str, str]]) -> str:
    """Return "a before b and c. b before d.", in the order of `keys`."""
    sentences = []
    for key in keys:
        later = [other for other in keys if (key, other) in before]
        if later:
            sentences.append(f"{key} before {_list_in_words(later)}.")
    return " ".join(sentences) or "Any order."


def _list_in_words(keys: Sequence[str]) -> str:
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} and {keys[-1]}"


def _columns(keys: Sequence[str], before: Collection[tuple[str, str]]) -> Mapping[str, int]:
    columns = dict.fromkeys(keys, 0)
    for _ in keys:
        moved = False
        for first, then in before:
            if columns[then] <= columns[first]:
                columns[then] = columns[first] + 1
                moved = True
        if not moved:
            return columns
    raise ValueError("the order has a cycle and cannot be drawn")


def _route(pair: tuple[str, str], columns: Mapping[str, int]) -> list[Slot]:
    """A line passes a free slot in every column between its two ends, so that it never runs through a step."""
    first, then = pair
    between = range(columns[first] + 1, columns[then])
    return [(columns[first], first), *((column, f"{first}>{then}") for column in between), (columns[then], then)]


def _rows(keys: Sequence[str], columns: Mapping[str, int], routes: Sequence[Sequence[Slot]]) -> list[list[Slot]]:
    """Every column's slots from top to bottom, each near the middle of what it is joined to."""
    rows: dict[int, list[Slot]] = {}
    passed = [slot for route in routes for slot in route[1:-1]]
    for slot in [(columns[key], key) for key in keys] + passed:
        rows.setdefault(slot[0], []).append(slot)
    joined: dict[Slot, list[Slot]] = {}
    for route in routes:
        for left, right in itertools.pairwise(route):
            joined.setdefault(left, []).append(right)
            joined.setdefault(right, []).append(left)
    ordered = [rows[column] for column in sorted(rows)]
    for sweep in range(SWEEPS):
        steps = range(1, len(ordered)) if sweep % 2 == 0 else range(len(ordered) - 2, -1, -1)
        for column in steps:
            fixed = ordered[column - 1] if sweep % 2 == 0 else ordered[column + 1]
            ordered[column] = sorted(ordered[column], key=lambda slot: _middle(slot, joined, fixed, len(fixed) / 2))
    return ordered


def _middle(slot: Slot, joined: Mapping[Slot, Sequence[Slot]], fixed: Sequence[Slot], otherwise: float) -> float:
    heights = [fixed.index(other) - (len(fixed) - 1) / 2 for other in joined.get(slot, ()) if other in fixed]
    return sum(heights) / len(heights) if heights else otherwise


def _places(rows: Sequence[Sequence[Slot]]) -> dict[Slot, tuple[int, int]]:
    tallest = max((len(row) for row in rows), default=0)
    places = {}
    for column, row in enumerate(rows):
        top = MARGIN + (tallest - len(row)) * ROW_HEIGHT // 2
        for number, slot in enumerate(row):
            places[slot] = (MARGIN + column * COLUMN_WIDTH, top + number * ROW_HEIGHT)
    return places


def _tip(tail: tuple[int, int], head: tuple[int, int]) -> str:
    """The tip of an arrow that touches the ring of the step it leads to."""
    across, down = head[0] - tail[0], head[1] - tail[1]
    length = math.hypot(across, down)
    along_x, along_y = across / length, down / length
    point = head[0] - RADIUS * along_x, head[1] - RADIUS * along_y
    root = point[0] - TIP_LENGTH * along_x, point[1] - TIP_LENGTH * along_y
    half = TIP_WIDTH / 2
    corners = (
        point,
        (root[0] - half * along_y, root[1] + half * along_x),
        (root[0] + half * along_y, root[1] - half * along_x),
    )
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners) + "Z"


def _steps(
    keys: Sequence[str], columns: Mapping[str, int], places: Mapping[Slot, tuple[int, int]]
) -> list[tuple[str, tuple[int, int]]]:
    return [(key, places[columns[key], key]) for key in keys]
