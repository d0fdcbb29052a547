"""Reads crews and shifts from a CSV file in the service's own plain form: a row for each member of each crew.

Every row is whole or has a fault; the form is described in docs/crews-and-shifts.md.
"""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from quizapp.assessment.csv_table import Columns, Faults, Row, read_table
from quizapp.assessment.local_times import parse_local_moment
from quizapp.assessment.person_fields import read_staff_number, staff_number_key
from quizapp.assessment.roster import read_cell
from quizapp.assessment.shift_cover import Span
from quizapp.errors import BadInput, ContentFault

COLUMNS = Columns(required=("base", "crew", "starts", "ends", "staff_number", "role"), optional=("from", "until"))
LONGEST_SHIFT = timedelta(hours=36)
LONGEST_NAME = 60
MOST_MEMBERS = 12


@dataclass(frozen=True, kw_only=True)
class MemberRow:
    """One member of a crew on a shift: who, as what, and in which part of the shift."""

    staff_number: str
    crew_role: str
    present: Span

    @property
    def key(self) -> str:
        """The form under which staff numbers are compared."""
        return staff_number_key(self.staff_number)


@dataclass(frozen=True, kw_only=True)
class ShiftRow:
    """One crew on one shift, as the file has it; `base` is a base's code. A shift may have no members yet."""

    line: int
    base: str
    crew: str
    span: Span
    members: tuple[MemberRow, ...]

    @property
    def key(self) -> tuple[str, str, datetime]:
        """What makes a shift the same one in a later file."""
        return self.base, self.crew, self.span.start


@dataclass(frozen=True, kw_only=True)
class CrewRoster:
    """The shifts that could be read, and every fault."""

    shifts: tuple[ShiftRow, ...]
    faults: tuple[ContentFault, ...]


@dataclass(frozen=True)
class _Read:
    line: int
    base: str
    crew: str
    span: Span
    member: MemberRow | None


def read_crew_name(text: str) -> str:
    """Give a crew's name or a member's part in it, 1 to 60 printable characters; raises BadInput."""
    name = unicodedata.normalize("NFC", " ".join(text.split()))
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadInput(f"write 1 to {LONGEST_NAME} characters that can be printed")
    return name


def read_crew_roster(
    content: bytes, *, path: str, bases: Collection[str], people: Mapping[str, str], zone: ZoneInfo
) -> CrewRoster:
    """Read a file of crews; times are those of the service's zone.

    bases: codes of the bases that the reader may plan for. people: for the key of each staff number "" or why that
    person cannot be on a crew. Nobody may be on two crews at once, and no crew on two shifts.
    """
    table = read_table(content, COLUMNS, path=path)
    faults = Faults(path)
    for fault in table.faults:
        faults.add(fault.line, fault.message)
    read = [one for row in table.rows if (one := _read_row(row, bases, people, zone, faults)) is not None]
    shifts = _gathered(read, faults)
    _find_overlaps(shifts, faults)
    return CrewRoster(shifts=shifts, faults=faults.all)


def _read_row(
    row: Row, bases: Collection[str], people: Mapping[str, str], zone: ZoneInfo, faults: Faults
) -> _Read | None:
    def base_code(text: str) -> str:
        if text not in bases:
            known = ", ".join(sorted(bases))
            raise BadInput(f'"{text[:40]}" is no base you plan for; those are {known}' if text else "no base was given")
        return text

    def moment(text: str) -> datetime:
        return parse_local_moment(text, zone)

    base = read_cell(row, "base", base_code, faults)
    crew = read_cell(row, "crew", read_crew_name, faults)
    starts = read_cell(row, "starts", moment, faults)
    ends = read_cell(row, "ends", moment, faults)
    if base is None or crew is None or starts is None or ends is None:
        return None
    span = Span(starts, ends)
    if not span.start < span.end <= span.start + LONGEST_SHIFT:
        hours = int(LONGEST_SHIFT.total_seconds() // 3600)
        faults.add(row.line, f"ends: a shift ends after it starts, and within {hours} hours")
        return None
    if not row.cells["staff_number"]:
        return _Read(row.line, base, crew, span, None)
    member = _member(row, span, people, zone, faults)
    return None if member is None else _Read(row.line, base, crew, span, member)


def _member(row: Row, span: Span, people: Mapping[str, str], zone: ZoneInfo, faults: Faults) -> MemberRow | None:
    number = read_cell(row, "staff_number", lambda text: _known(text, people), faults)
    crew_role = read_cell(row, "role", read_crew_name, faults)
    first = read_cell(row, "from", lambda text: _or_else(text, span.start, zone), faults)
    last = read_cell(row, "until", lambda text: _or_else(text, span.end, zone), faults)
    if number is None or crew_role is None or first is None or last is None:
        return None
    if not span.start <= first < last <= span.end:
        faults.add(row.line, "from, until: a member's own hours lie within the shift, the end after the start")
        return None
    return MemberRow(staff_number=number, crew_role=crew_role, present=Span(first, last))


def _known(text: str, people: Mapping[str, str]) -> str:
    number = read_staff_number(text)
    reason = people.get(staff_number_key(number), "nobody here has this staff number")
    if reason:
        raise BadInput(f"{number}: {reason}")
    return number


def _or_else(text: str, otherwise: datetime, zone: ZoneInfo) -> datetime:
    return parse_local_moment(text, zone) if text else otherwise


def _gathered(read: Sequence[_Read], faults: Faults) -> tuple[ShiftRow, ...]:
    """Put the rows of one crew and shift together; they must agree on its end and name nobody twice."""
    found: dict[tuple[str, str, datetime], list[_Read]] = defaultdict(list)
    for one in read:
        found[(one.base, one.crew, one.span.start)].append(one)
    shifts = []
    for (base, crew, _), rows in found.items():
        members: dict[str, tuple[int, MemberRow]] = {}
        for row in rows:
            if row.span != rows[0].span:
                faults.add(row.line, f"ends: line {rows[0].line} has another end for the same crew and start")
            if row.member is None:
                continue
            line, _known_member = members.setdefault(row.member.key, (row.line, row.member))
            if line != row.line:
                faults.add(row.line, f"staff_number: {row.member.staff_number} is on this crew in line {line} already")
        if len(members) > MOST_MEMBERS:
            faults.add(rows[-1].line, f"a crew has at most {MOST_MEMBERS} members, this one has {len(members)}")
        shifts.append(
            ShiftRow(
                line=rows[0].line,
                base=base,
                crew=crew,
                span=rows[0].span,
                members=tuple(member for _, member in members.values()),
            )
        )
    return tuple(shifts)


def _find_overlaps(shifts: Sequence[ShiftRow], faults: Faults) -> None:
    """Find a crew with two shifts at once, and a person on two crews at once."""
    crews: dict[tuple[str, str], list[tuple[Span, int]]] = defaultdict(list)
    people: dict[str, list[tuple[Span, int]]] = defaultdict(list)
    for shift in shifts:
        crews[(shift.base, shift.crew)].append((shift.span, shift.line))
        for member in shift.members:
            people[member.staff_number].append((member.present, shift.line))
    for (_, crew), spans in crews.items():
        for line, other in _overlaps(spans):
            faults.add(line, f"starts: {crew} is on the shift of line {other} at that time already")
    for number, spans in people.items():
        for line, other in _overlaps(spans):
            faults.add(line, f"staff_number: {number} is on the crew of line {other} at that time already")


def _overlaps(spans: Sequence[tuple[Span, int]]) -> list[tuple[int, int]]:
    """Give (line, earlier line) for each span that begins before the latest one so far has ended."""
    found: list[tuple[int, int]] = []
    latest: tuple[Span, int] | None = None
    for span, line in sorted(spans):
        if latest is not None and span.start < latest[0].end and line != latest[1]:
            found.append((line, latest[1]))
        if latest is None or span.end > latest[0].end:
            latest = (span, line)
    return found
