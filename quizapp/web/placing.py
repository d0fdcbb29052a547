"""An order while it is being given, one button at a time; places in the shuffle stand for the steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence


def read_order(text: str, count: int) -> list[str]:
    """Return the places in an order field, each once; whatever is no place from 1 to `count` is left out."""
    allowed = {str(place) for place in range(1, count + 1)}
    return [place for place in dict.fromkeys(text.split(",")) if place in allowed]


def changed_order(order: Sequence[str], sent: Mapping[str, str], count: int) -> list[str]:
    """Return the order after the one button that was pressed: give, earlier, later, place or clear.

    Giving a step that has a number already takes it back.
    """
    if "clear" in sent:
        return []
    if "place" in sent:
        return _placed(order, read_order(sent.get("put_step", ""), count), sent.get("put_after", ""))
    given = read_order(sent.get("give", ""), count)
    if given:
        return [place for place in order if place not in given] if given[0] in order else [*order, given[0]]
    for name, way in (("earlier", -1), ("later", 1)):
        moved = sent.get(name, "")
        if moved in order:
            return _moved(order, moved, way)
    return list(order)


def _placed(order: Sequence[str], put: Sequence[str], after: str) -> list[str]:
    """Put one step right after another: "" is the start, a step without a number is the end."""
    if len(put) != 1 or put[0] == after:
        return list(order)
    rest = [place for place in order if place != put[0]]
    there = 0 if not after else rest.index(after) + 1 if after in rest else len(rest)
    return [*rest[:there], put[0], *rest[there:]]


def _moved(order: Sequence[str], place: str, way: int) -> list[str]:
    here = order.index(place)
    there = min(max(here + way, 0), len(order) - 1)
    changed = list(order)
    changed[here], changed[there] = changed[there], changed[here]
    return changed
