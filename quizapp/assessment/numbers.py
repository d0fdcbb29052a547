"""Reads a typed number strictly: a finite value, a refusal with what to write instead, or a question which was meant.

Normal form KC is left out on purpose: it would turn a raised two into a two and a circled one into a one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

MAX_LENGTH = 32

# Full-width digits and signs, and the minus sign of typesetting: each stands for one plain character.
_PLAIN = {ord("０") + digit: str(digit) for digit in range(10)} | {
    ord("．"): ".",
    ord("，"): ",",
    ord("＋"): "+",
    ord("－"): "-",
    ord("\u2212"): "-",
}
# Space, no-break space, figure space, thin space, narrow no-break space, full-width space.
_SPACES = " \u00a0\u2007\u2009\u202f\u3000"
_NUMBER = re.compile(r"([+-]?)([0-9]{1,6})(?:([.,])([0-9]{1,4}))?")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:[., '\u00a0\u2009\u202f][0-9]{3})+(?:[.,][0-9]+)?")

_EMPTY = "Enter a number"
_ONLY_NUMBER = "Enter only the number, for example 12.5"
_ASCII_DIGITS = "Use the digits 0–9"
_WRITE_OUT = "Write the number out, for example 1000"
_UNIT_SHOWN = "Enter only the number; the unit is already shown"


@dataclass(frozen=True)
class Parsed:
    """A number that was read; `value` is finite and never a negative zero."""

    value: Decimal


@dataclass(frozen=True)
class Refused:
    """A text that is not taken as a number; it is never marked wrong. `message` says what to write."""

    message: str


@dataclass(frozen=True)
class Ambiguous:
    """A text that can be read in two ways that both fit; ask which was meant, never mark silently."""

    as_decimal: Decimal
    as_thousands: Decimal

    @property
    def message(self) -> str:
        """The question to ask."""
        return f"Did you mean {self.as_thousands:f} or {self.as_decimal:f}?"


@dataclass(frozen=True)
class PlausibleRange:
    """The range in which an answer to a question can lie, used only to decide whether to ask."""

    low: Decimal
    high: Decimal

    def holds(self, value: Decimal) -> bool:
        """Return whether the value lies in the range, ends included."""
        return self.low <= value <= self.high


Reading = Parsed | Refused | Ambiguous


def read_number(text: str, plausible: PlausibleRange | None = None) -> Reading:
    """Read a typed number of up to 32 characters, six digits before and four after one point or comma.

    plausible: where the answer can lie, in the unit shown; a text like 1,234 is asked about when 1234 lies in it.
    """
    if len(text) > MAX_LENGTH:
        return Refused(_ONLY_NUMBER if text.strip() else _EMPTY)
    plain = text.strip(_SPACES).translate(_PLAIN)
    if not plain:
        return Refused(_EMPTY)
    match = _NUMBER.fullmatch(plain)
    if match is None:
        return Refused(_reason(plain))
    value = Decimal(plain.replace(",", "."))
    value = value if value else abs(value)
    thousands = value * 1000
    if _THOUSANDS.fullmatch(plain) and plausible is not None and plausible.holds(thousands):
        return Ambiguous(as_decimal=value, as_thousands=thousands.to_integral_value())
    return Parsed(value)


def _reason(plain: str) -> str:
    """Choose the sentence that helps most for a text that is not a number."""
    for pattern, message in _REASONS:
        if pattern.fullmatch(plain):
            return message
    if any(character.isdigit() and not character.isascii() for character in plain):
        return _ASCII_DIGITS
    return _ONLY_NUMBER


_REASONS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"[+-]?[.,][0-9]+"), "Write a zero before the point, for example 0.5"),
    (re.compile(r"[+-]?[0-9]+[.,]"), "Write a digit after the point, or leave the point out"),
    (re.compile(r"[+-]?[0-9]+(?:[.,][0-9]*)?[eE][+-]?[0-9]+|0[xXoObB][0-9a-fA-F]+|[0-9]+(?:_[0-9]+)+"), _WRITE_OUT),
    (_GROUPED, "Write the number without separators between the thousands, for example 1234.5"),
    (re.compile(r"[+-]?[0-9]{7,}(?:[.,][0-9]*)?"), "This number is too large; at most six digits before the point"),
    (re.compile(r"[+-]?[0-9]{1,6}[.,][0-9]{5,}"), "Round the number to at most four digits after the point"),
    (re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?\s*[a-zA-Zµ%/°][a-zA-Z0-9µ%/°·.*²-]*"), _UNIT_SHOWN),
)
