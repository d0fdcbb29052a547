"""Texts with names in braces, such as "the gauge reads {peak} cmH2O"; doubled braces and all else stay as written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from quizapp.assessment.formula_arithmetic import round_half_up

_PLACEHOLDER = re.compile(r"(?<!\{)\{([a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)?)\}(?!\})")


@dataclass(frozen=True)
class Text:
    """An author's text, in which names in braces are filled in with what was drawn."""

    template: str

    @property
    def names(self) -> frozenset[str]:
        """The names in braces."""
        return frozenset(_PLACEHOLDER.findall(self.template))

    def fill(self, printed: Mapping[str, str]) -> str:
        """Return the text with each name replaced; raises KeyError for a name that has no printed form."""
        return _PLACEHOLDER.sub(lambda match: printed[match[1]], self.template)


def print_number(value: Decimal, decimals: int) -> str:
    """Write a number with so many decimals (0 to 6) the way it stands in a question, with a true minus sign."""
    return f"{round_half_up(value, decimals):f}".replace("-", "\u2212")


def print_exact(value: Decimal) -> str:
    """Write a number with as many decimals as it has, without trailing zeros."""
    text = f"{value.normalize():f}" if value else "0"
    return text.replace("-", "\u2212")


def decimals_of(value: Decimal) -> int:
    """Return how many decimals a number needs."""
    exponent = value.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
