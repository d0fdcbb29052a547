"""Crews and shifts entered by hand: a new shift, another crew for one, a shift that is removed or looked at again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.crew_roster import LONGEST_SHIFT, MOST_MEMBERS, read_crew_name
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_fields import read_staff_number, staff_number_key
from quizapp.assessment.shift_answers import AlertCause
from quizapp.assessment.shift_cover import Span
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.crew_people import people_by_number
from quizapp.services.note_covers import NOT_NOTED, note_covers
from quizapp.services.require_right import require_right
from quizapp.store.people import Person, RescueBase
from quizapp.store.shifts import CrewShift, ShiftMember


@dataclass(frozen=True, kw_only=True)
class MemberWanted:
    """One member as entered: a staff number, what they do on the crew, and in which part of the shift."""

    staff_number: str
    crew_role: str
    present: Span | None = None


@dataclass(frozen=True, kw_only=True)
class ShiftWanted:
    """A shift as entered."""

    base_id: str
    crew: str
    span: Span
    members: tuple[MemberWanted, ...]


def enter_shift(act: Act, library: Library, wanted: ShiftWanted) -> str:
    """Keep a new shift still to come and return its id; raises BadInput naming the field, Conflict for a double."""
    _require_base(act, wanted.base_id)
    crew = _crew_name(wanted.crew)
    _refuse_span(act, wanted.span)
    _refuse_double(act, wanted.base_id, crew, wanted.span)
    row = CrewShift(
        id=act.randomness.new_id(),
        base_id=wanted.base_id,
        crew=crew,
        starts_at=wanted.span.start,
        ends_at=wanted.span.end,
        confirmed_at=act.now,
        confirmed_by=act.actor.person_id,
        known_cover=NOT_NOTED,
        removed_at=None,
    )
    members = members_of(act, row.id, wanted.span, wanted.members)
    act.session.add(row)
    act.session.flush()
    act.session.add_all(members)
    record(act, AuditEvent.SHIFT_ENTERED, "crew_shift", row.id, thing=shift_thing(row),
           after=_as_kept(row, members))  # fmt: skip
    note_covers(act, library, [row.base_id], AlertCause.ROSTER)
    return row.id


def change_crew(act: Act, library: Library, shift_id: str, members: Sequence[MemberWanted]) -> None:
    """Put another crew on a shift that is not over; the same crew again confirms that it still holds."""
    row = shift_to_change(act, shift_id)
    wanted = members_of(act, row.id, Span(row.starts_at, row.ends_at), members)
    act.session.execute(delete(ShiftMember).where(ShiftMember.shift_id == row.id))
    act.session.add_all(wanted)
    row.confirmed_at, row.confirmed_by = act.now, act.actor.person_id
    record(act, AuditEvent.SHIFT_CHANGED, "crew_shift", row.id, thing=shift_thing(row),
           after=_as_kept(row, wanted))  # fmt: skip
    note_covers(act, library, [row.base_id], AlertCause.ROSTER)


def remove_shift(act: Act, shift_id: str) -> None:
    """Take a shift that is not over out of the calendar; what was recorded about it stays."""
    row = shift_to_change(act, shift_id)
    row.removed_at = act.now
    record(act, AuditEvent.SHIFT_REMOVED, "crew_shift", row.id, thing=shift_thing(row), after={"base": row.base_id})


def shift_to_change(act: Act, shift_id: str) -> CrewShift:
    """Return a shift that the actor plans, locked; raises NotFound, Conflict once it is over."""
    row = act.session.scalar(select(CrewShift).where(CrewShift.id == shift_id).with_for_update())
    if row is None or row.removed_at is not None:
        raise NotFound("There is no such shift.")
    require_right(act, Right.PLAN_CREWS, row.base_id)
    if row.ends_at <= act.now:
        raise Conflict("This shift is over. Nothing was changed; what was on it stays on record.")
    return row


def shift_thing(row: CrewShift) -> str:
    """Name a shift for the audit trail, without names of people."""
    return f"{row.crew}, {row.starts_at:%Y-%m-%d %H:%M} UTC"


def _as_kept(row: CrewShift, members: Sequence[ShiftMember]) -> dict[str, str | list[str]]:
    return {
        "base": row.base_id,
        "starts": row.starts_at.isoformat(),
        "ends": row.ends_at.isoformat(),
        "members": sorted(one.person_id for one in members),
    }


def _require_base(act: Act, base_id: str) -> None:
    require_right(act, Right.PLAN_CREWS)
    if act.session.get(RescueBase, base_id) is None:
        raise BadInput("Choose a base of yours.", field="base_id")
    require_right(act, Right.PLAN_CREWS, base_id)


def _crew_name(text: str) -> str:
    try:
        return read_crew_name(text)
    except BadInput as fault:
        raise BadInput(f"The crew's name: {fault}.", field="crew") from None


def _refuse_span(act: Act, span: Span) -> None:
    if span.end <= span.start:
        raise BadInput("The shift ends before it starts.", field="ends")
    if span.end - span.start > LONGEST_SHIFT:
        raise BadInput("A shift is at most 36 hours long.", field="ends")
    if span.end <= act.now:
        raise BadInput("This shift is over. Enter what is still to come.", field="ends")


def _refuse_double(act: Act, base_id: str, crew: str, span: Span) -> None:
    there = select(CrewShift.id).where(
        CrewShift.base_id == base_id,
        CrewShift.crew == crew,
        CrewShift.removed_at.is_(None),
        CrewShift.starts_at < span.end,
        CrewShift.ends_at > span.start,
    )
    if act.session.scalar(there.limit(1)) is not None:
        raise Conflict(f"{crew} has a shift at that time already. Nothing was changed. Change the crew of that one.")


def members_of(act: Act, shift_id: str, span: Span, wanted: Sequence[MemberWanted]) -> list[ShiftMember]:
    """Return the rows of a crew; raises BadInput for somebody who cannot be on it, naming the staff number."""
    if len(wanted) > MOST_MEMBERS:
        raise BadInput(f"A crew has at most {MOST_MEMBERS} members.", field="members")
    known = people_by_number(act)
    rows: dict[str, ShiftMember] = {}
    for one in wanted:
        person = known.get(staff_number_key(read_staff_number(one.staff_number)))
        if person is None or person.reason:
            why = person.reason if person else "nobody here has this staff number"
            raise BadInput(f"{one.staff_number}: {why}.", field="members")
        if person.person_id in rows:
            raise BadInput(f"{one.staff_number} is on this crew twice.", field="members")
        present = one.present or span
        if not span.start <= present.start < present.end <= span.end:
            raise BadInput(f"{one.staff_number}: the own hours lie within the shift.", field="members")
        rows[person.person_id] = ShiftMember(
            shift_id=shift_id,
            person_id=person.person_id,
            crew_role=read_crew_name(one.crew_role),
            from_at=present.start,
            until_at=present.end,
        )
    refuse_elsewhere(act, shift_id, list(rows.values()))
    return list(rows.values())


def refuse_elsewhere(act: Act, shift_id: str, members: Sequence[ShiftMember]) -> None:
    """Raise BadInput naming somebody who is on another crew at the same time."""
    if not members:
        return
    first, last = min(one.from_at for one in members), max(one.until_at for one in members)
    spans: dict[str, tuple[datetime, datetime]] = {one.person_id: (one.from_at, one.until_at) for one in members}
    rows = act.session.execute(
        select(ShiftMember, CrewShift.crew, Person.name)
        .join(CrewShift, CrewShift.id == ShiftMember.shift_id)
        .join(Person, Person.id == ShiftMember.person_id)
        .where(ShiftMember.person_id.in_(spans), CrewShift.removed_at.is_(None), CrewShift.id != shift_id)
        .where(ShiftMember.from_at < last, ShiftMember.until_at > first)
    )
    for other, crew, name in rows:
        start, end = spans[other.person_id]
        if other.from_at < end and start < other.until_at:
            raise BadInput(f"{name} is on {crew} at that time already.", field="members")
