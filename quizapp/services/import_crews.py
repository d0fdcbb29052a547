"""Takes crews and shifts over from a file: first a dry run with every fault, then all of it in one act or nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from sqlalchemy import delete, insert, select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.crew_plan import CrewPlan, KnownShift, plan_crews
from quizapp.assessment.crew_roster import CrewRoster, ShiftRow, read_crew_roster
from quizapp.assessment.dates import local_day
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_fields import staff_number_key
from quizapp.assessment.shift_answers import AlertCause
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing_ahead import begin_of
from quizapp.content.library import Library
from quizapp.errors import BadInput, ContentFaults
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record, record_many
from quizapp.services.crew_people import CrewPerson, people_by_number
from quizapp.services.note_covers import NOT_NOTED, note_covers
from quizapp.services.require_right import require_right
from quizapp.services.shift_covers import ShiftSeen
from quizapp.store.people import Person, RescueBase
from quizapp.store.shifts import CrewShift, ShiftMember


def bases_planned(act: Act) -> dict[str, RescueBase]:
    """Return the bases whose crews the actor plans, by code."""
    require_right(act, Right.PLAN_CREWS)
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name))
    return {base.code: base for base in rows if has_right(act.actor, Right.PLAN_CREWS, act.today, base.id)}


def plan_crew_import(act: Act, *, content: bytes, path: str) -> CrewPlan:
    """Compare a file of crews with the shifts that are kept, and change nothing; the statements do not grow with it."""
    roster, bases, _people = _read(act, content, path)
    return plan_crews(roster, _known(act, roster, bases), now=act.now, zone=act.zone, path=path)


def _read(
    act: Act, content: bytes, path: str
) -> tuple[CrewRoster, dict[str, RescueBase], dict[str, CrewPerson]]:  # fmt: skip
    bases = bases_planned(act)
    people = people_by_number(act)
    reasons = {key: one.reason for key, one in people.items()}
    roster = read_crew_roster(content, path=path, bases=set(bases), people=reasons, zone=act.zone)
    return roster, bases, people


def _known(act: Act, roster: CrewRoster, bases: Mapping[str, RescueBase]) -> list[KnownShift]:
    """Return every kept shift near the file's time, of all bases, since somebody may be on a crew elsewhere."""
    if not roster.shifts:
        return []
    first = min(row.span.start for row in roster.shifts)
    last_day = local_day(max(row.span.start for row in roster.shifts), act.zone)
    last = max(begin_of(last_day + timedelta(days=1), act.zone), *(row.span.end for row in roster.shifts))
    codes = {base.id: code for code, base in bases.items()}
    near = (
        CrewShift.removed_at.is_(None),
        CrewShift.ends_at > begin_of(local_day(first, act.zone), act.zone),
        CrewShift.starts_at < last,
    )
    rows = list(act.session.scalars(select(CrewShift).where(*near).order_by(CrewShift.starts_at, CrewShift.id)))
    members: dict[str, dict[str, tuple[str, Span]]] = {row.id: {} for row in rows}
    found = act.session.execute(
        select(ShiftMember, Person.staff_number)
        .join(Person, Person.id == ShiftMember.person_id)
        .where(ShiftMember.shift_id.in_(select(CrewShift.id).where(*near)))
    )
    for member, number in found:
        members[member.shift_id][staff_number_key(number)] = (member.crew_role, Span(member.from_at, member.until_at))
    return [
        KnownShift(
            shift_id=row.id,
            base=codes.get(row.base_id, "another base"),
            crew=row.crew,
            span=Span(row.starts_at, row.ends_at),
            members=members[row.id],
        )
        for row in rows
    ]


def import_crews(
    act: Act, library: Library, *, content: bytes, path: str, remove: Collection[str] = ()
) -> tuple[CrewPlan, list[ShiftSeen]]:
    """Take a file over in one act; return what was done and the shifts that lost their last current person by it.

    `remove` names shifts that are not in the file and are to go; all others stay. Raises ContentFaults with every
    fault, BadInput for a removal that was not offered.
    """
    roster, bases, people = _read(act, content, path)
    plan = plan_crews(roster, _known(act, roster, bases), now=act.now, zone=act.zone, path=path)
    if plan.errors:
        raise ContentFaults(list(plan.errors))
    offered = {one.shift_id: one for one in plan.absent}
    if set(remove) - set(offered):
        raise BadInput("A shift to be removed is not among those missing in the file. Check the file once more.",
                       field="remove")  # fmt: skip
    for one in plan.in_two_places:
        if one.shift_id not in set(remove):
            raise BadInput(f"Line {one.line}: {one.words}. Nothing was changed.", field="remove")
    numbers = {key: one.person_id for key, one in people.items()}
    entries = [*_add(act, plan.new, bases, numbers), *_change(act, plan, numbers), *_remove(act, remove)]
    touched = [*plan.same, *(one.shift_id for one in plan.changed)]
    if touched:
        confirmed = {"confirmed_at": act.now, "confirmed_by": act.actor.person_id}
        act.session.execute(update(CrewShift), [{"id": shift_id, **confirmed} for shift_id in touched])
    record_many(act, entries)
    _record_whole(act, plan, content, len(set(remove)))
    lost = note_covers(act, library, [base.id for base in bases.values()], AlertCause.ROSTER)
    return replace(plan, absent=tuple(one for one in plan.absent if one.shift_id not in set(remove))), lost


def _record_whole(act: Act, plan: CrewPlan, content: bytes, removed: int) -> None:
    counts = {"new": len(plan.new), "changed": len(plan.changed), "same": len(plan.same), "removed": removed}
    file_hash = hashlib.sha256(content).hexdigest()
    record(act, AuditEvent.CREWS_IMPORTED, "file", file_hash[:32],
           thing=", ".join(f"{number} {word}" for word, number in counts.items()),
           after={**counts, "sha256": file_hash})  # fmt: skip


def _add(
    act: Act, rows: Sequence[ShiftRow], bases: Mapping[str, RescueBase], numbers: Mapping[str, str]
) -> list[Entry]:
    shifts = [(act.randomness.new_id(), row) for row in rows]
    if shifts:
        act.session.execute(
            insert(CrewShift), [_shift_values(act, one, row, bases[row.base].id) for one, row in shifts]
        )
    _put_members(act, shifts, numbers)
    return [_entry(AuditEvent.SHIFT_ENTERED, shift_id, row, numbers) for shift_id, row in shifts]


def _shift_values(act: Act, shift_id: str, row: ShiftRow, base_id: str) -> dict[str, object]:
    return {
        "id": shift_id,
        "base_id": base_id,
        "crew": row.crew,
        "starts_at": row.span.start,
        "ends_at": row.span.end,
        "confirmed_at": act.now,
        "confirmed_by": act.actor.person_id,
        "known_cover": NOT_NOTED,
        "removed_at": None,
    }


def _put_members(act: Act, shifts: Sequence[tuple[str, ShiftRow]], numbers: Mapping[str, str]) -> None:
    values = [
        {
            "shift_id": shift_id,
            "person_id": numbers[member.key],
            "crew_role": member.crew_role,
            "from_at": member.present.start,
            "until_at": member.present.end,
        }
        for shift_id, row in shifts
        for member in row.members
    ]
    if values:
        act.session.execute(insert(ShiftMember), values)


def _change(act: Act, plan: CrewPlan, numbers: Mapping[str, str]) -> list[Entry]:
    ids = [one.shift_id for one in plan.changed]
    if not ids:
        return []
    act.session.execute(delete(ShiftMember).where(ShiftMember.shift_id.in_(ids)))
    act.session.execute(update(CrewShift), [{"id": one.shift_id, "ends_at": one.row.span.end} for one in plan.changed])
    _put_members(act, [(one.shift_id, one.row) for one in plan.changed], numbers)
    return [_entry(AuditEvent.SHIFT_CHANGED, one.shift_id, one.row, numbers) for one in plan.changed]


def _remove(act: Act, shift_ids: Collection[str]) -> list[Entry]:
    if not shift_ids:
        return []
    act.session.execute(update(CrewShift), [{"id": one, "removed_at": act.now} for one in sorted(set(shift_ids))])
    return [
        Entry(event=AuditEvent.SHIFT_REMOVED, object_type="crew_shift", object_id=one, thing="not in the file")
        for one in sorted(set(shift_ids))
    ]


def _entry(event: AuditEvent, shift_id: str, row: ShiftRow, numbers: Mapping[str, str]) -> Entry:
    return Entry(
        event=event,
        object_type="crew_shift",
        object_id=shift_id,
        thing=f"{row.crew}, {row.span.start:%Y-%m-%d %H:%M} UTC",
        after={
            "base": row.base,
            "starts": row.span.start.isoformat(),
            "ends": row.span.end.isoformat(),
            "members": sorted(numbers[member.key] for member in row.members),
        },
    )
