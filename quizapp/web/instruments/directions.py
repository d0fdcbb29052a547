"""The direction table: what was changed and which way, and which result is asked about; it never shows a result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

CAUSES = (
    ("flow_direction", "Source flow"),
    ("peak_direction", "Peak"),
    ("rate_control_direction", "Rate control, towards shut"),
    ("mix_direction", "Mix with air"),
    ("compliance_direction", "Compliance"),
    ("resistance_direction", "Resistance"),
)
RESULTS = ("Volume of a breath", "Rate", "Inflation time", "Minute volume", "Alveolar ventilation", "Expiration time")
WAYS = {-1: ("↓", "down"), 0: ("=", "as it was"), 1: ("↑", "up")}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the table: its name, its mark and the mark in words."""

    name: str
    mark: str
    words: str


@dataclass(frozen=True, kw_only=True)
class DirectionTable:
    """What changes, and what follows; of that one line is asked about."""

    causes: tuple[Row, ...]
    results: tuple[Row, ...]


def direction_table(directions: Mapping[str, float], asked: float) -> DirectionTable:
    """Return the table.

    directions: -1, 0 or 1 for each name of CAUSES (left out: 0). asked: 1 to 6, the place in RESULTS.
    Raises ValueError for anything else.
    """
    if asked not in range(1, len(RESULTS) + 1):
        raise ValueError(f"asked is {asked:g}; there are the results 1 to {len(RESULTS)}")
    odd = {name: way for name, way in directions.items() if way not in WAYS}
    if odd:
        raise ValueError(f"a direction is -1, 0 or 1, not {odd}")
    causes = [Row(name=words, mark=mark, words=way) for name, words in CAUSES for mark, way in [_way(directions, name)]]
    results = [
        Row(name=name, mark="?" if at == asked else "·", words="asked" if at == asked else "not asked")
        for at, name in enumerate(RESULTS, start=1)
    ]
    return DirectionTable(causes=tuple(causes), results=tuple(results))


def _way(directions: Mapping[str, float], name: str) -> tuple[str, str]:
    return WAYS[int(directions.get(name, 0))]
