"""The square a telephone scans, as the path of a drawing of our own, so that the secret goes to no other service."""

from __future__ import annotations

from dataclasses import dataclass

QUIET_ZONE = 4
"""Modules of white around the square; the standard of the symbol (ISO/IEC 18004) asks for four."""


@dataclass(frozen=True, kw_only=True)
class Square:
    """The symbol's width in modules, white margin included, and the path of its dark modules."""

    width: int
    path: str


def square_of(address: str) -> Square:
    """Draw an address; the symbol survives a quarter of it being spoilt or dirty."""
    import segno

    symbol = segno.make_qr(address, error="q")
    rows = [list(row) for row in symbol.matrix_iter(border=QUIET_ZONE)]
    path = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    return Square(width=len(rows), path=path)
