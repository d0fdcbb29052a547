"""Notes how the coming shifts of bases are covered, and tells the leads of each where a shift lost its last one.

Every change of crews calls it in its own transaction; a daily run finds what time and records changed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from sqlalchemy import or_, select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import day_in_words, local_day
from quizapp.assessment.roles import Role
from quizapp.assessment.shift_answers import AlertCause, has_worsened
from quizapp.assessment.shift_cover import CoverState
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record_many
from quizapp.services.messages import ToTell, tell
from quizapp.services.shift_covers import ShiftSeen, coming_shifts
from quizapp.store.roles import RoleGrant
from quizapp.store.shifts import CrewShift, ShiftAlert, ShiftMember

NOT_NOTED = "not_noted"


def note_covers(act: Act, library: Library, base_ids: Collection[str], cause: AlertCause) -> list[ShiftSeen]:
    """Note the cover of every coming shift of bases, and return those that lost their last current person since.

    A shift that is new and has nobody counts as well: somebody has to see to it.
    """
    act.session.flush()
    changed = [one for one in coming_shifts(act, library, base_ids) if one.known_cover != one.state.value]
    lost = [one for one in changed if has_worsened(_before(one), one.state)]
    if changed:
        act.session.execute(update(CrewShift), [{"id": one.id, "known_cover": one.state.value} for one in changed])
    if lost:
        _alert(act, lost, cause)
    return lost


def note_covers_of_people(act: Act, library: Library, person_ids: Collection[str]) -> list[ShiftSeen]:
    """The same for the bases of the coming shifts that some people are on, after something about them changed."""
    act.session.flush()
    bases = act.session.scalars(
        select(CrewShift.base_id)
        .join(ShiftMember, ShiftMember.shift_id == CrewShift.id)
        .where(ShiftMember.person_id.in_(person_ids), CrewShift.removed_at.is_(None), CrewShift.ends_at > act.now)
        .distinct()
    )
    found = sorted(bases)
    return note_covers(act, library, found, AlertCause.TIME_OR_RECORD) if found else []


def _before(shift: ShiftSeen) -> CoverState:
    return CoverState.COVERED if shift.known_cover == NOT_NOTED else CoverState(shift.known_cover)


def _alert(act: Act, lost: Sequence[ShiftSeen], cause: AlertCause) -> None:
    act.session.add_all(
        ShiftAlert(
            id=act.randomness.new_id(),
            shift_id=shift.id,
            base_id=shift.base.id,
            cause=cause.value,
            found_at=act.now,
            found_by=act.actor.person_id or None,
        )
        for shift in lost
    )
    record_many(
        act,
        [
            Entry(
                event=AuditEvent.SHIFT_UNCOVERED,
                object_type="crew_shift",
                object_id=shift.id,
                thing=shift_words(act, shift),
                after={"cause": cause.value, "base": shift.base.id},
            )
            for shift in lost
        ],
    )
    by_base: dict[str, list[ShiftSeen]] = defaultdict(list)
    for shift in lost:
        by_base[shift.base.id].append(shift)
    leads = leads_of(act, by_base)
    tell(
        act,
        [
            ToTell(person_id=lead, about="cover", about_id=shifts[0].id, text=_message(act, shifts, cause))
            for base_id, shifts in by_base.items()
            for lead in leads[base_id]
        ],
    )


def _message(act: Act, shifts: Sequence[ShiftSeen], cause: AlertCause) -> str:
    """Say it without the names of the crew: whoever looks over a shoulder learns nothing about a person."""
    first = shifts[0]
    many = f"{len(shifts)} shifts at {first.base.name} have" if len(shifts) > 1 else f"A shift at {first.base.name} has"
    which = "the first: " if len(shifts) > 1 else ""
    return (
        f"{many} nobody current at some minute, {which}{shift_words(act, first)}. "
        f"Found after {cause.words}. Open the shift for the ways out, in their order."
    )


def shift_words(act: Act, shift: ShiftSeen) -> str:
    """Name a shift: the crew, the day and the hours in the service's zone."""
    start, end = (moment.astimezone(act.zone) for moment in (shift.span.start, shift.span.end))
    return f"{shift.crew}, {day_in_words(local_day(shift.span.start, act.zone))}, {start:%H:%M} to {end:%H:%M}"


def leads_of(act: Act, base_ids: Collection[str]) -> dict[str, list[str]]:
    """Return the people who lead each of the bases today."""
    rows = act.session.execute(
        select(RoleGrant.person_id, RoleGrant.base_id)
        .where(RoleGrant.role == Role.TEAM_LEAD.value, RoleGrant.ended_at.is_(None))
        .where(RoleGrant.from_day <= act.today, or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today))
        .where(or_(RoleGrant.base_id.is_(None), RoleGrant.base_id.in_(base_ids)))
    ).all()
    return {base_id: sorted({person for person, reached in rows if reached in {None, base_id}}) for base_id in base_ids}
