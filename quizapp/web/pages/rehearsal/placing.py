"""The shuffled steps of a rehearsal: numbers instead of letters, so that nothing gives the order away."""

from __future__ import annotations

from collections.abc import Sequence

from quizapp.services.start_rehearsal import RehearsalView


def shown_steps(rehearsal: RehearsalView) -> tuple[tuple[str, str], ...]:
    """Return (place in the shuffle, text) for each step, as shown."""
    texts = (rehearsal.procedure.step(letter).text for letter in rehearsal.shown_order)
    return tuple((str(place), text) for place, text in enumerate(texts, 1))


def letters_of(rehearsal: RehearsalView, order: Sequence[str]) -> list[str]:
    """Return the letters that places of the shuffle stand for."""
    return [rehearsal.shown_order[int(place) - 1] for place in order]
