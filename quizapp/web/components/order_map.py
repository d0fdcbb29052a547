"""The map of what must come before what: each step as far right as its longest chain of forerunners."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

COLUMN_WIDTH = 62
ROW_HEIGHT = 38
MARGIN = 20


@dataclass(frozen=True, kw_only=True)
class MapNode:
    """One step of the map, by its letter."""

    key: str
    x: int
    y: int
    is_critical: bool


@dataclass(frozen=True, kw_only=True)
class OrderMap:
    """The drawing: size, letters, lines, and the same in words."""

    width: int
    height: int
    nodes: tuple[MapNode, ...]
    lines: tuple[str, ...]
    words: str


def order_map(keys: Sequence[str], before: Collection[tuple[str, str]], critical: Collection[str]) -> OrderMap:
    """Return the map of `keys`; `before` holds only the direct pairs (earlier, later) of an order without a cycle.

    Raises ValueError when the pairs form a cycle.
    """
    places = _places(_columns(keys, before))
    widest, tallest = (max((place[axis] for place in places.values()), default=0) for axis in (0, 1))
    nodes = tuple(MapNode(key=key, x=x, y=y, is_critical=key in critical) for key, (x, y) in places.items())
    lines = tuple(
        f"M{places[first][0]} {places[first][1]}L{places[then][0]} {places[then][1]}" for first, then in sorted(before)
    )
    return OrderMap(
        width=widest + MARGIN, height=tallest + MARGIN, nodes=nodes, lines=lines, words=order_in_words(keys, before)
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


def _places(columns: Mapping[str, int]) -> dict[str, tuple[int, int]]:
    rows: dict[int, list[str]] = {}
    for key, column in columns.items():
        rows.setdefault(column, []).append(key)
    tallest = max((len(row) for row in rows.values()), default=0)
    places = {}
    for column, row in rows.items():
        top = MARGIN + (tallest - len(row)) * ROW_HEIGHT // 2
        for number, key in enumerate(row):
            places[key] = (MARGIN + column * COLUMN_WIDTH, top + number * ROW_HEIGHT)
    return {key: places[key] for key in columns}
