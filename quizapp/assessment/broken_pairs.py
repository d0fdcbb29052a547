"""Names each dependency a performed order broke, and why it is one, in sentences a person can use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from quizapp.assessment.partial_order import Pair
from quizapp.assessment.procedures import Procedure


@dataclass(frozen=True, kw_only=True)
class BrokenPair:
    """`first` had to come before `then` but came after it.

    `chain` runs from first to then along the stated pairs (two letters when the pair itself is stated), `whys`
    gives the reason of each of its links, `critical` says that breaking this pair alone means "not shown".
    """

    first: str
    then: str
    chain: tuple[str, ...]
    chain_texts: tuple[str, ...]
    whys: tuple[str, ...]
    critical: bool

    @property
    def stated(self) -> bool:
        """Whether the procedure states this very pair (else it follows from others)."""
        return len(self.chain) == 2

    @property
    def sentence(self) -> str:
        """The broken dependency by letters, for instance "f was done before b: a dial moves no gas while …"."""
        return self._said(self.chain)

    @property
    def sentence_in_full(self) -> str:
        """The same with the steps spelt out, for pages that show no letters."""
        return self._said([f"“{text}”" for text in self.chain_texts])

    def _said(self, names: Sequence[str]) -> str:
        links = [
            f"{first} before {then}, because {why}"
            for (first, then), why in zip(pairwise(names), self.whys, strict=True)
        ]
        reason = self.whys[0] if self.stated else f"it follows from {'; '.join(links)}"
        return f"{names[-1]} was done before {names[0]}: {reason}"


def broken_pairs(procedure: Procedure, broken: Sequence[Pair]) -> tuple[BrokenPair, ...]:
    """The pairs of an order score's `broken`, named: critical ones first, then stated ones, then what follows.

    `broken` holds pairs of the closure of the procedure's order; raises KeyError for other letters.
    """
    named = [_named(procedure, pair) for pair in broken]
    place = {letter: index for index, letter in enumerate(procedure.letters)}
    return tuple(sorted(named, key=lambda pair: (not pair.critical, not pair.stated, place[pair.first], pair.then)))


def _named(procedure: Procedure, pair: Pair) -> BrokenPair:
    first, then = pair
    chain = procedure.order.path(first, then)
    why_of = {stated.letters: stated.why for stated in procedure.pairs}
    return BrokenPair(
        first=first,
        then=then,
        chain=chain,
        chain_texts=tuple(procedure.step(letter).text for letter in chain),
        whys=tuple(why_of[link] for link in pairwise(chain)),
        critical=pair in procedure.critical_pairs,
    )
