"""Reads a roster of people from a CSV file: each row whole or with a fault, doubles found within the file."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from quizapp.assessment.csv_table import Columns, Faults, Row, read_table
from quizapp.assessment.dates import parse_day, parse_name
from quizapp.assessment.person_fields import (
    read_email,
    read_profession,
    read_sign_in_name,
    read_staff_number,
    staff_number_key,
    without_leading_zeros,
)
from quizapp.errors import BadInput, ContentFault

COLUMNS = Columns(
    required=("staff_number", "name", "profession", "base", "joined_on"), optional=("email", "sign_in_name")
)

Value = TypeVar("Value")


@dataclass(frozen=True, kw_only=True)
class RosterRow:
    """One person as the roster has them; `base` is a base's code, `sign_in_name` None asks for no account.

    `email` None is an empty cell; a column that is not in the file leaves what is known as it is.
    """

    line: int
    staff_number: str
    name: str
    profession: str
    base: str
    joined_on: date
    email: str | None = None
    sign_in_name: str | None = None

    @property
    def key(self) -> str:
        """The form under which staff numbers are compared."""
        return staff_number_key(self.staff_number)


@dataclass(frozen=True, kw_only=True)
class Roster:
    """What could be read, which optional columns there were, and every fault and warning."""

    rows: tuple[RosterRow, ...]
    columns: frozenset[str]
    faults: tuple[ContentFault, ...]


@dataclass(frozen=True)
class _Keys:
    """What must be unique in a row, read even where the rest of the row is at fault."""

    line: int
    staff_number: str | None
    sign_in_name: str | None


def read_roster(content: bytes, *, path: str, bases: Collection[str]) -> Roster:
    """Read a roster with the columns staff_number, name, profession, base, joined_on and if wanted email, sign_in_name.

    `bases` are the codes of the service's bases. A roster says nothing about roles: whoever is new becomes a
    clinician, whatever else the file holds is a fault.
    """
    table = read_table(content, COLUMNS, path=path)
    faults = Faults(path)
    for fault in table.faults:
        faults.add(fault.line, fault.message)
    read = [_person(row, bases, faults) for row in table.rows]
    _find_doubles([keys for keys, _ in read], faults)
    columns = frozenset(table.rows[0].cells) if table.rows else frozenset()
    rows = tuple(person for _, person in read if person is not None)
    return Roster(rows=rows, columns=columns, faults=faults.all)


def _person(row: Row, bases: Collection[str], faults: Faults) -> tuple[_Keys, RosterRow | None]:
    def base_code(text: str) -> str:
        if text not in bases:
            known = ", ".join(sorted(bases))
            raise BadInput(f'there is no base "{text[:40]}"; known are {known}' if text else "no base was given")
        return text

    number = read_cell(row, "staff_number", read_staff_number, faults)
    name = read_cell(row, "name", parse_name, faults)
    profession = read_cell(row, "profession", read_profession, faults)
    base = read_cell(row, "base", base_code, faults)
    joined_on = read_cell(row, "joined_on", parse_day, faults)
    email = read_cell(row, "email", _maybe_email, faults)
    sign_in_name = read_cell(row, "sign_in_name", _maybe_sign_in_name, faults)
    keys = _Keys(row.line, number, sign_in_name or None)
    if number is None or name is None or profession is None or base is None or joined_on is None:
        return keys, None
    if email is None or sign_in_name is None:
        return keys, None
    person = RosterRow(
        line=row.line,
        staff_number=number,
        name=name,
        profession=profession,
        base=base,
        joined_on=joined_on,
        email=email or None,
        sign_in_name=sign_in_name or None,
    )
    return keys, person


def read_cell(row: Row, column: str, read: Callable[[str], Value], faults: Faults) -> Value | None:
    """Read one cell; None and a fault naming the column when it cannot be read."""
    try:
        return read(row.cells.get(column, ""))
    except BadInput as fault:
        faults.add(row.line, f"{column}: {fault}")
        return None


def _maybe_email(text: str) -> str:
    return read_email(text) or ""


def _maybe_sign_in_name(text: str) -> str:
    return read_sign_in_name(text) if text else ""


def _find_doubles(rows: Iterable[_Keys], faults: Faults) -> None:
    """Find staff numbers and sign-in names that stand there twice, and numbers that may have lost their zeros."""
    numbers: dict[str, int] = {}
    shortened: dict[str, tuple[str, int]] = {}
    names: dict[str, int] = {}
    for row in rows:
        number = row.staff_number
        if number is not None:
            key = staff_number_key(number)
            if numbers.setdefault(key, row.line) != row.line:
                faults.add(row.line, f"staff_number: {number} stands in line {numbers[key]} already")
            alike, line = shortened.setdefault(without_leading_zeros(number), (number, row.line))
            if staff_number_key(alike) != key:
                message = f"staff_number: {number} and {alike} (line {line}) differ by leading zeros only"
                faults.add(row.line, f"{message}; a spreadsheet may have dropped them", level="warning")
        name = row.sign_in_name
        if name is not None and names.setdefault(name, row.line) != row.line:
            faults.add(row.line, f"sign_in_name: {name} stands in line {names[name]} already")
