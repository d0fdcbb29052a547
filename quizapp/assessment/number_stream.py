"""A stream of whole numbers that is the same for the same seed on every machine and in every version of Python.

Block n is SHA-256 of "stream 1|name|seed|n"; it gives four numbers of 64 bits each. Numbers that would favour
some values are skipped. Change anything here only together with ALGORITHM.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Sequence
from typing import TypeVar

ALGORITHM = 1

_SIZE = 1 << 64
_FOUR_NUMBERS = struct.Struct(">4Q").unpack

Item = TypeVar("Item")


class NumberStream:
    """Numbers for one name (such as a family's code) and one seed, drawn one after another."""

    def __init__(self, name: str, seed: int) -> None:
        self._start = f"stream {ALGORITHM}|{name}|{seed}|".encode()
        self._block = 0
        self._ready: list[int] = []

    def below(self, bound: int) -> int:
        """Return the next number from 0 to bound - 1, each equally likely; bound: 1 to 2^64."""
        if not 1 <= bound <= _SIZE:
            raise ValueError(f"bound must be from 1 to 2^64, not {bound}")
        limit = _SIZE - _SIZE % bound
        while True:
            number = self._next()
            if number < limit:
                return number % bound

    def shuffled(self, items: Sequence[Item]) -> list[Item]:
        """Return the items in a drawn order, each order equally likely."""
        order = list(items)
        for last in range(len(order) - 1, 0, -1):
            other = self.below(last + 1)
            order[last], order[other] = order[other], order[last]
        return order

    def _next(self) -> int:
        if not self._ready:
            digest = hashlib.sha256(self._start + str(self._block).encode()).digest()
            self._block += 1
            self._ready = list(_FOUR_NUMBERS(digest))
            self._ready.reverse()
        return self._ready.pop()
