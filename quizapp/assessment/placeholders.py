"""Texts with names in braces, such as "the gauge reads {peak} cmH2O"; doubled braces and all else stay as written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property, lru_cache
from types import MappingProxyType

from quizapp.assessment.formula_arithmetic import CONTEXT, PLACES, round_half_up

KEPT = 8192
"""How many numbers are remembered with their printed form: draws repeat, and equal numbers are printed alike."""

NOTHING_MORE: Mapping[str, str] = MappingProxyType({})

_PLACEHOLDER = re.compile(r"(?<!\{)\{([a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)?)\}(?!\})")


@dataclass(frozen=True)
class Text:
    """An author's text, in which names in braces are filled in with what was drawn."""

    template: str

    @cached_property
    def _pieces(self) -> tuple[str, ...]:
        """The text cut at its names: plain, name, plain, name, ..., plain."""
        return tuple(_PLACEHOLDER.split(self.template))

    @cached_property
    def names(self) -> frozenset[str]:
        """The names in braces."""
        return frozenset(self._pieces[1::2])

    def fill(self, printed: Mapping[str, str], more: Mapping[str, str] = NOTHING_MORE) -> str:
        """Return the text with each name replaced, by `more` first; raises KeyError for one without a printed form."""
        if not self.names:
            return self.template
        pieces = list(self._pieces)
        for at in range(1, len(pieces), 2):
            name = pieces[at]
            pieces[at] = more[name] if name in more else printed[name]
        return "".join(pieces)


@lru_cache(maxsize=KEPT)
def print_number(value: Decimal, decimals: int) -> str:
    """Write a number with so many decimals (0 to 6) the way it stands in a question, with a true minus sign."""
    text = f"{value.quantize(PLACES[decimals], ROUND_HALF_UP, CONTEXT):f}"
    return text if text[0] != "-" else f"{round_half_up(value, decimals):f}".replace("-", "\u2212")


@lru_cache(maxsize=KEPT)
def print_exact(value: Decimal) -> str:
    """Write a number with as many decimals as it has, without trailing zeros."""
    text = f"{value.normalize():f}" if value else "0"
    return text.replace("-", "\u2212")


@lru_cache(maxsize=1024)
def decimals_of(value: Decimal) -> int:
    """Return how many decimals a number needs."""
    exponent = value.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
