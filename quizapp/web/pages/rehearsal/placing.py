"""The order of a rehearsal while it is being given: numbers instead of letters, so that nothing gives it away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizapp.services.start_rehearsal import RehearsalView


def shown_steps(rehearsal: RehearsalView) -> tuple[tuple[str, str], ...]:
    """Return (place in the shuffle, text) for each step, as shown."""
    texts = (rehearsal.procedure.step(letter).text for letter in rehearsal.shown_order)
    return tuple((str(place), text) for place, text in enumerate(texts, 1))


def read_order(text: str, count: int) -> list[str]:
    """Return the places in an order field, each once; whatever is no place of this rehearsal is left out."""
    allowed = {str(place) for place in range(1, count + 1)}
    return [place for place in dict.fromkeys(text.split(",")) if place in allowed]


def changed_order(order: Sequence[str], sent: Mapping[str, str], count: int) -> list[str]:
    """Return the order after the one button that was pressed: give, earlier, later or clear.

    Giving a step that has a number already takes it back.
    """
    if "clear" in sent:
        return []
    given = read_order(sent.get("give", ""), count)
    if given:
        return [place for place in order if place not in given] if given[0] in order else [*order, given[0]]
    for name, way in (("earlier", -1), ("later", 1)):
        moved = sent.get(name, "")
        if moved in order:
            return _moved(order, moved, way)
    return list(order)


def letters_of(rehearsal: RehearsalView, order: Sequence[str]) -> list[str]:
    """Return the letters that places of the shuffle stand for."""
    return [rehearsal.shown_order[int(place) - 1] for place in order]


def _moved(order: Sequence[str], place: str, way: int) -> list[str]:
    here = order.index(place)
    there = min(max(here + way, 0), len(order) - 1)
    changed = list(order)
    changed[here], changed[there] = changed[there], changed[here]
    return changed
