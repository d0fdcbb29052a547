"""Cells that a spreadsheet would run as a formula are disarmed on export and read back unchanged on import.

A disarmed cell carries one apostrophe in front, which spreadsheets take as "this is text". A cell whose own text
would look like a disarmed one gets an apostrophe too, so that nothing is lost on the way back.
"""

from __future__ import annotations

TRIGGERS = frozenset("=+-@\t\r\n＝＋－＠−﹢﹣﹦﹫")
GUARD = "'"
SKIPPED_BY_SPREADSHEETS = " \u00a0\u3000"


def disarm(cell: str) -> str:
    """Give the text to write into a cell so that no spreadsheet runs it (source: OWASP ASVS 5.0, 1.2.10)."""
    body = cell.lstrip(GUARD + SKIPPED_BY_SPREADSHEETS)
    return GUARD + cell if body and body[0] in TRIGGERS else cell


def rearm(cell: str) -> str:
    """Give back the text that `disarm` was given."""
    return cell[1:] if cell[:1] == GUARD and disarm(cell[1:]) == cell else cell
