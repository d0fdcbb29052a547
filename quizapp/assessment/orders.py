"""Orders of steps in which only some pairs are real: any order that keeps those pairs is right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.assessment.questions import Step


@dataclass(frozen=True, kw_only=True)
class BrokenPair:
    """Two steps in the wrong order: `first` must come before `second`, because of `because`."""

    first: str
    second: str
    because: str


def broken_pairs(steps: Sequence[Step], order: Sequence[str]) -> tuple[BrokenPair, ...]:
    """Return every real pair that an order breaks; `order` names each step once.

    Raises ValueError if a step is missing, unknown or named twice.
    """
    if sorted(order) != sorted(step.name for step in steps):
        raise ValueError("an order names every step exactly once")
    place = {name: at for at, name in enumerate(order)}
    return tuple(
        BrokenPair(first=first, second=step.name, because=step.because)
        for step in steps
        for first in step.after
        if place[first] > place[step.name]
    )


def is_valid_order(steps: Sequence[Step]) -> bool:
    """Return whether the steps stand in a right order already."""
    return not broken_pairs(steps, [step.name for step in steps])
