"""The shuffled steps of a rehearsal: numbers instead of letters, so that nothing gives the order away."""

from __future__ import annotations

import re
from collections.abc import Sequence

from quizapp.services.start_rehearsal import RehearsalView

TIME = re.compile(r"([0-9]{1,2}):([0-9]{1,7})")


def shown_steps(rehearsal: RehearsalView) -> tuple[tuple[str, str], ...]:
    """Return (place in the shuffle, text) for each step, as shown."""
    texts = (rehearsal.procedure.step(letter).text for letter in rehearsal.shown_order)
    return tuple((str(place), text) for place, text in enumerate(texts, 1))


def letters_of(rehearsal: RehearsalView, order: Sequence[str]) -> list[str]:
    """Return the letters that places of the shuffle stand for."""
    return [rehearsal.shown_order[int(place) - 1] for place in order]


def letter_times(rehearsal: RehearsalView, text: str) -> dict[str, int]:
    """Return when each step was taken first, read from "place:milliseconds" pairs; what makes no sense is left out."""
    found: dict[str, int] = {}
    for place, milliseconds in TIME.findall(text):
        if 1 <= int(place) <= len(rehearsal.shown_order):
            found.setdefault(rehearsal.shown_order[int(place) - 1], int(milliseconds))
    return found


def critical_times(rehearsal: RehearsalView) -> tuple[str, ...]:
    """Say how soon the first critical action was taken, and what the list says about time."""
    if not rehearsal.is_timed:
        return ()
    seconds = rehearsal.first_critical_s
    said = "The first critical action could not be timed: that needs the page's script."
    if seconds is not None:
        said = f"First critical action after {seconds} second{'' if seconds == 1 else 's'}."
    return (
        said,
        *(f"{limit.text}: {limit.basis.value}, shown and never decisive." for limit in rehearsal.procedure.limits),
    )
