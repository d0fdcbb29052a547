"""Reads sign-offs given elsewhere from a CSV file, to be recognised with the dates they had."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.csv_table import Columns, Faults, Row, read_table
from quizapp.assessment.dates import parse_day
from quizapp.assessment.person_fields import read_staff_number, staff_number_key
from quizapp.assessment.roster import read_cell
from quizapp.assessment.validity import LONGEST_VALIDITY_MONTHS, add_months
from quizapp.errors import BadInput, ContentFault

COLUMNS = Columns(
    required=("staff_number", "competency", "signed_on", "last_valid_day", "profile", "revision", "recognised_reason")
)
REVISION = re.compile(r"[1-9][0-9]{0,3}")
SHORTEST_REASON = 10
LONGEST_REASON = 1000


@dataclass(frozen=True, kw_only=True)
class SignOffRow:
    """One sign-off given elsewhere: for whom, for what, on which device revision, from when to when (inclusive)."""

    line: int
    staff_number: str
    competency: str
    signed_on: date
    last_valid_day: date
    profile: str
    revision: int
    reason: str

    @property
    def key(self) -> tuple[str, str, str, int]:
        """Person, competency and device revision: what a sign-off is about."""
        return (staff_number_key(self.staff_number), self.competency, self.profile, self.revision)


def read_sign_offs(
    content: bytes, *, path: str, today: date
) -> tuple[tuple[SignOffRow, ...], tuple[ContentFault, ...]]:
    """Return the rows that could be read and every fault; a sign-off lies in the past and lasts at most 60 months."""
    table = read_table(content, COLUMNS, path=path)
    faults = Faults(path)
    for fault in table.faults:
        faults.add(fault.line, fault.message)
    rows = tuple(row for row in (_sign_off(one, today, faults) for one in table.rows) if row is not None)
    first: dict[tuple[str, str, str, int], SignOffRow] = {}
    for row in rows:
        earlier = first.setdefault(row.key, row)
        if earlier is not row:
            faults.add(row.line, f"this sign-off stands in line {earlier.line} already; keep the one that is valid")
    return rows, faults.all


def _sign_off(row: Row, today: date, faults: Faults) -> SignOffRow | None:
    number = read_cell(row, "staff_number", read_staff_number, faults)
    competency = read_cell(row, "competency", _given, faults)
    signed_on = read_cell(row, "signed_on", parse_day, faults)
    last_day = read_cell(row, "last_valid_day", parse_day, faults)
    profile = read_cell(row, "profile", _given, faults)
    revision = read_cell(row, "revision", _revision, faults)
    reason = read_cell(row, "recognised_reason", _reason, faults)
    if number is None or competency is None or profile is None or revision is None or reason is None:
        return None
    if signed_on is None or last_day is None or not _days_fit(row.line, signed_on, last_day, today, faults):
        return None
    return SignOffRow(
        line=row.line,
        staff_number=number,
        competency=competency,
        signed_on=signed_on,
        last_valid_day=last_day,
        profile=profile,
        revision=revision,
        reason=reason,
    )


def _days_fit(line: int, signed_on: date, last_day: date, today: date, faults: Faults) -> bool:
    if signed_on > today:
        faults.add(line, f"signed_on: {signed_on} lies in the future")
    elif last_day < signed_on:
        faults.add(line, f"last_valid_day: {last_day} lies before the day it was signed, {signed_on}")
    elif last_day > add_months(signed_on, LONGEST_VALIDITY_MONTHS):
        faults.add(line, f"last_valid_day: {last_day} is more than {LONGEST_VALIDITY_MONTHS} months after {signed_on}")
    else:
        return True
    return False


def _given(text: str) -> str:
    if not text or len(text) > 64 or not text.isprintable():
        raise BadInput("Write a code of 1 to 64 characters.")
    return text


def _revision(text: str) -> int:
    if not REVISION.fullmatch(text):
        raise BadInput(f"{text[:20]!r} is no revision; write a whole number such as 2.")
    return int(text)


def _reason(text: str) -> str:
    if not SHORTEST_REASON <= len(text) <= LONGEST_REASON:
        raise BadInput(f"Say on what this is recognised, in {SHORTEST_REASON} to {LONGEST_REASON} characters.")
    return " ".join(text.split())
