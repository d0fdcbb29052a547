"""A rehearsal: the steps of a procedure shuffled by a seed, and what the order a clinician gives them shows."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment.broken_pairs import BrokenPair, broken_pairs
from quizapp.assessment.order_scoring import OrderScore, score_order
from quizapp.assessment.partial_order import is_valid_order
from quizapp.assessment.procedures import Procedure
from quizapp.errors import BadInput

_SHUFFLES_TRIED = 16
_LONGEST_MS = 3_600_000


@dataclass(frozen=True, kw_only=True)
class RehearsalResult:
    """What one given order shows; every valid order is accepted, none is preferred."""

    accepted: bool
    order: OrderScore
    broken: tuple[BrokenPair, ...]

    @property
    def sentence(self) -> str:
        """The result in one sentence."""
        if self.accepted:
            return "This order keeps every real dependency."
        misplaced, pairs = self.order.misplaced, len(self.broken)
        steps_words = "1 step is" if misplaced == 1 else f"{misplaced} steps are"
        pairs_words = "1 dependency is" if pairs == 1 else f"{pairs} dependencies are"
        return f"{steps_words} out of place; {pairs_words} broken."


def shuffled_steps(procedure: Procedure, seed: int) -> tuple[str, ...]:
    """The letters of all steps in an order that the seed alone decides.

    `seed` is any whole number. An order that would already be right is shuffled again, as long as that helps.
    """
    draws = _bits(f"rehearsal {seed} {' '.join(procedure.letters)}")
    shuffled = procedure.letters
    for _ in range(_SHUFFLES_TRIED):
        shuffled = _shuffled(shuffled, draws)
        if not is_valid_order(procedure.order, shuffled):
            break
    return shuffled


def score_rehearsal(procedure: Procedure, given: Sequence[str]) -> RehearsalResult:
    """Compare the order a clinician gave with the real order.

    `given` holds every letter of the procedure once; raises BadInput (field "order") otherwise.
    """
    counts = Counter(given)
    missing = [letter for letter in procedure.letters if not counts[letter]]
    strange = sorted(set(counts) - set(procedure.letters))
    twice = [letter for letter in procedure.letters if counts[letter] > 1]
    if missing or strange or twice:
        parts = [("missing", missing), ("given twice", twice), ("not a step of this procedure", strange)]
        said = "; ".join(f"{words}: {', '.join(letters)}" for words, letters in parts if letters)
        raise BadInput(f"Each step has to stand in the order once ({said}). Nothing was stored.", field="order")
    score = score_order(procedure.order, given, procedure.pair_weights)
    return RehearsalResult(accepted=not score.broken, order=score, broken=broken_pairs(procedure, score.broken))


def first_critical_s(procedure: Procedure, taken_after_ms: Mapping[str, int]) -> int | None:
    """Whole seconds until the first critical step was taken; None where none was timed or a time makes no sense.

    `taken_after_ms`: letters with milliseconds since the steps were shown, from 0 to one hour.
    """
    times = [
        taken_after_ms[step.letter]
        for step in procedure.steps
        if step.critical and 0 <= taken_after_ms.get(step.letter, -1) <= _LONGEST_MS
    ]
    return min(times) // 1000 if times else None


def _shuffled(letters: Sequence[str], draws: Iterator[int]) -> tuple[str, ...]:
    """Fisher-Yates, from the last place down."""
    mixed = list(letters)
    for last in range(len(mixed) - 1, 0, -1):
        chosen = _below(last + 1, draws)
        mixed[last], mixed[chosen] = mixed[chosen], mixed[last]
    return tuple(mixed)


def _below(limit: int, draws: Iterator[int]) -> int:
    """A whole number from 0 to limit - 1, each equally likely (draws that would favour some are thrown away)."""
    fair = 2**32 - 2**32 % limit
    return next(draw for draw in draws if draw < fair) % limit


def _bits(name: str) -> Iterator[int]:
    """Endless 32-bit numbers from SHA-256 of the name and a counter, the same on every machine and version."""
    counter = 0
    while True:
        block = hashlib.sha256(f"{name} {counter}".encode()).digest()
        yield from (int.from_bytes(block[at : at + 4], "big") for at in range(0, 32, 4))
        counter += 1
