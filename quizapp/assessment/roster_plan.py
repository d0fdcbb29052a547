"""Compares a roster with the people a service knows: who is new, what changes, who stays the same, what cannot be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.csv_table import Faults
from quizapp.assessment.dates import day_in_words
from quizapp.assessment.person_fields import staff_number_key, without_leading_zeros
from quizapp.assessment.roster import Roster, RosterRow
from quizapp.errors import ContentFault


@dataclass(frozen=True, kw_only=True)
class KnownPerson:
    """One person the service knows; `base` is the base's code, `sign_in_name` None is no account."""

    person_id: str
    staff_number: str
    name: str
    profession: str
    base: str
    joined_on: date
    email: str | None
    sign_in_name: str | None
    left_on: date | None


@dataclass(frozen=True, kw_only=True)
class FieldChange:
    """One field of one person that the roster has otherwise, in words."""

    field: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True)
class PersonChange:
    """Everything a roster changes about one known person."""

    person_id: str
    row: RosterRow
    fields: tuple[FieldChange, ...]

    def touches(self, field: str) -> bool:
        """Whether the roster changes this field."""
        return any(one.field == field for one in self.fields)


@dataclass(frozen=True, kw_only=True)
class RosterPlan:
    """What taking over a roster would do. Absence removes nobody: `absent` stay, unless each is chosen by name."""

    new: tuple[RosterRow, ...]
    changed: tuple[PersonChange, ...]
    same_count: int
    absent: tuple[KnownPerson, ...]
    faults: tuple[ContentFault, ...]

    @property
    def absent_count(self) -> int:
        """How many people of the service the file does not name."""
        return len(self.absent)

    @property
    def movers(self) -> tuple[PersonChange, ...]:
        """The known people whom the file has at another base."""
        return tuple(one for one in self.changed if one.touches("base"))

    @property
    def errors(self) -> tuple[ContentFault, ...]:
        """The faults that refuse the file as a whole."""
        return tuple(fault for fault in self.faults if fault.level == "error")

    @property
    def warnings(self) -> tuple[ContentFault, ...]:
        """What should be looked at but refuses nothing."""
        return tuple(fault for fault in self.faults if fault.level != "error")


def plan_roster(roster: Roster, known: Iterable[KnownPerson], *, importer_id: str, path: str) -> RosterPlan:
    """Compare a roster with the known people; the importer (`importer_id`) is never moved by it."""
    people = {staff_number_key(one.staff_number): one for one in known}
    faults = Faults(path)
    for fault in roster.faults:
        faults.add(fault.line, fault.message, level=fault.level)
    _check_people(roster.rows, people, importer_id, faults)
    new = tuple(row for row in roster.rows if row.key not in people)
    changes = [
        PersonChange(
            person_id=people[row.key].person_id, row=row, fields=_changes(row, people[row.key], roster.columns)
        )
        for row in roster.rows
        if row.key in people
    ]
    changed = tuple(one for one in changes if one.fields)
    in_file = {row.key for row in roster.rows}
    absent = (one for key, one in people.items() if key not in in_file and one.left_on is None)
    return RosterPlan(
        new=new,
        changed=changed,
        same_count=len(changes) - len(changed),
        absent=tuple(sorted(absent, key=lambda one: (one.base, one.name, one.staff_number))),
        faults=faults.all,
    )


def _check_people(
    rows: Iterable[RosterRow], people: Mapping[str, KnownPerson], importer_id: str, faults: Faults
) -> None:
    owners = {one.sign_in_name: one for one in people.values() if one.sign_in_name}
    shortened = {without_leading_zeros(key): one for key, one in people.items()}
    for row in rows:
        person = people.get(row.key)
        if person is not None and person.left_on is not None:
            left = day_in_words(person.left_on)
            message = f"staff_number: {row.staff_number} left on {left}; record the return on the person's page first"
            faults.add(row.line, message)
        elif person is not None and person.person_id == importer_id and row.base != person.base:
            faults.add(row.line, "base: nobody moves themselves to another base; another administrator must do this")
        owner = owners.get(row.sign_in_name) if row.sign_in_name else None
        if owner is not None and owner is not person:
            faults.add(row.line, f"sign_in_name: {row.sign_in_name} belongs to staff number {owner.staff_number}")
        alike = shortened.get(without_leading_zeros(row.staff_number))
        if person is None and alike is not None:
            pair = f"{row.staff_number} would be new, but {alike.staff_number} is known"
            faults.add(row.line, f"staff_number: {pair}; a spreadsheet may have dropped zeros", level="warning")


def _changes(row: RosterRow, person: KnownPerson, columns: frozenset[str]) -> tuple[FieldChange, ...]:
    pairs = [
        ("staff_number", person.staff_number, row.staff_number),
        ("name", person.name, row.name),
        ("profession", person.profession, row.profession),
        ("base", person.base, row.base),
        ("joined_on", person.joined_on.isoformat(), row.joined_on.isoformat()),
    ]
    if "email" in columns:
        pairs.append(("email", person.email or "", row.email or ""))
    if row.sign_in_name:
        pairs.append(("sign_in_name", person.sign_in_name or "", row.sign_in_name))
    return tuple(
        FieldChange(field=field, before=before, after=after) for field, before, after in pairs if before != after
    )
