"""Compares a file of crews with the shifts a service keeps: what is new, changed, the same, and not in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from quizapp.assessment.crew_roster import CrewRoster, MemberRow, ShiftRow
from quizapp.assessment.csv_table import Faults
from quizapp.assessment.dates import local_day
from quizapp.assessment.shift_cover import Span
from quizapp.errors import ContentFault


@dataclass(frozen=True, kw_only=True)
class KnownShift:
    """One shift the service keeps; members by the key of their staff number."""

    shift_id: str
    base: str
    crew: str
    span: Span
    members: Mapping[str, tuple[str, Span]]

    @property
    def key(self) -> tuple[str, str, datetime]:
        """What makes a shift the same one in a later file."""
        return self.base, self.crew, self.span.start


@dataclass(frozen=True, kw_only=True)
class ShiftChange:
    """A shift that the file has otherwise; joining and leaving are staff numbers' keys."""

    shift_id: str
    row: ShiftRow
    joining: tuple[str, ...]
    leaving: tuple[str, ...]
    is_otherwise_changed: bool


@dataclass(frozen=True, kw_only=True)
class TwoPlaces:
    """Somebody of the file who is at the same time on a shift that is not in it, and so has to be removed first."""

    line: int
    staff_number: str
    shift_id: str
    crew: str

    @property
    def words(self) -> str:
        """What is wrong, and what to do."""
        return f"{self.staff_number} is on {self.crew} at that time, which is not in the file: mark it to be removed"


@dataclass(frozen=True, kw_only=True)
class CrewPlan:
    """What taking a file over would do. What is not in the file stays, unless its removal is chosen."""

    new: tuple[ShiftRow, ...]
    changed: tuple[ShiftChange, ...]
    same: tuple[str, ...]
    absent: tuple[KnownShift, ...]
    in_two_places: tuple[TwoPlaces, ...]
    faults: tuple[ContentFault, ...]

    @property
    def errors(self) -> tuple[ContentFault, ...]:
        """The faults that refuse the file as a whole."""
        return tuple(fault for fault in self.faults if fault.level == "error")


def plan_crews(
    roster: CrewRoster, known: Sequence[KnownShift], *, now: datetime, zone: ZoneInfo, path: str
) -> CrewPlan:
    """Compare the file with the known shifts; raises nothing, faults say what refuses the file.

    A known shift counts as not in the file when it starts on one of the days that the file has for its base, and is
    still to come. Shifts that are over are not changed by a file.
    """
    faults = Faults(path)
    for fault in roster.faults:
        faults.add(fault.line, fault.message, level=fault.level)
    by_key = {one.key: one for one in known}
    new, changed, same = [], [], []
    for row in roster.shifts:
        there = by_key.get(row.key)
        change = None if there is None else _change(row, there)
        if there is not None and change is None:
            same.append(there.shift_id)
        elif row.span.end <= now:
            faults.add(row.line, "ends: this shift is over; a file changes only what is still to come")
        elif change is None:
            new.append(row)
        else:
            changed.append(change)
    absent = _absent(roster, known, now, zone)
    _refuse_two_places(roster, known, {one.shift_id for one in absent}, faults)
    return CrewPlan(
        new=tuple(new),
        changed=tuple(changed),
        same=tuple(same),
        absent=tuple(absent),
        in_two_places=tuple(_in_two_places(roster, absent)),
        faults=faults.all,
    )


def _change(row: ShiftRow, there: KnownShift) -> ShiftChange | None:
    wanted = {one.key: (one.crew_role, one.present) for one in row.members}
    if row.span == there.span and wanted == there.members:
        return None
    both = wanted.keys() & there.members.keys()
    return ShiftChange(
        shift_id=there.shift_id,
        row=row,
        joining=tuple(sorted(wanted.keys() - there.members.keys())),
        leaving=tuple(sorted(there.members.keys() - wanted.keys())),
        is_otherwise_changed=row.span != there.span or any(wanted[key] != there.members[key] for key in both),
    )


def _absent(roster: CrewRoster, known: Sequence[KnownShift], now: datetime, zone: ZoneInfo) -> list[KnownShift]:
    in_file = {row.key for row in roster.shifts}
    days: dict[str, list[date]] = {}
    for row in roster.shifts:
        days.setdefault(row.base, []).append(local_day(row.span.start, zone))
    return [
        one
        for one in known
        if one.key not in in_file
        and one.base in days
        and min(days[one.base]) <= local_day(one.span.start, zone) <= max(days[one.base])
        and one.span.start > now
    ]


def _in_two_places(roster: CrewRoster, absent: Sequence[KnownShift]) -> list[TwoPlaces]:
    return [
        TwoPlaces(line=row.line, staff_number=member.staff_number, shift_id=other.shift_id, crew=other.crew)
        for row in roster.shifts
        for member in row.members
        for other in absent
        if member.key in other.members and other.members[member.key][1].meets(member.present)
    ]


def _refuse_two_places(roster: CrewRoster, known: Sequence[KnownShift], absent: set[str], faults: Faults) -> None:
    """Refuse somebody who is on a kept shift, which the file does not speak of, at the same time."""
    in_file = {row.key for row in roster.shifts}
    kept: dict[str, list[tuple[Span, KnownShift]]] = {}
    for one in known:
        if one.key not in in_file and one.shift_id not in absent:
            for key, (_, present) in one.members.items():
                kept.setdefault(key, []).append((present, one))
    for row in roster.shifts:
        for member in row.members:
            _refuse_if_elsewhere(row, member, kept, faults)


def _refuse_if_elsewhere(
    row: ShiftRow, member: MemberRow, kept: Mapping[str, Sequence[tuple[Span, KnownShift]]], faults: Faults
) -> None:
    for present, other in kept.get(member.key, ()):
        if present.meets(member.present):
            faults.add(
                row.line, f"staff_number: {member.staff_number} is on {other.crew}, {other.base}, at that time already"
            )
