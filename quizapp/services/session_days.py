"""Session days are opened, changed and cancelled by those who plan places for a base."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import delete, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import day_in_words
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.messages import ToTell, tell
from quizapp.services.require_right import require_right
from quizapp.services.seats import locked_days, upcoming_day
from quizapp.services.sign_in import roles_of
from quizapp.store.people import RescueBase
from quizapp.store.places import Place, SessionDay, SessionDayAssessor, SessionDayReach

CLOCK = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]")
MOST_PLACES = 60
FARTHEST_DAYS = 730
SHORTEST_REASON = 5


@dataclass(frozen=True, kw_only=True)
class SessionDayWanted:
    """A session day as somebody wants it; times as on a local clock, such as 09:00."""

    base_id: str
    held_on: date
    starts_at: str
    ends_at: str
    about: str
    capacity: int
    takes_bookings: bool
    assessor_ids: tuple[str, ...]
    reach_ids: tuple[str, ...]


def open_session_day(act: Act, wanted: SessionDayWanted) -> str:
    """Open a session day and return its id; raises BadInput naming the field that cannot be."""
    require_right(act, Right.PLAN_PLACES, wanted.base_id)
    _check(act, wanted)
    day = SessionDay(
        id=act.randomness.new_id(), base_id=wanted.base_id, held_on=wanted.held_on, starts_at=wanted.starts_at,
        ends_at=wanted.ends_at, about=wanted.about.strip(), capacity=wanted.capacity,
        takes_bookings=wanted.takes_bookings, created_by=act.actor.person_id, created_at=act.now, changed_at=act.now,
        sequence=0,
    )  # fmt: skip
    act.session.add(day)
    act.session.flush()
    _write_around(act, day.id, wanted)
    record(act, AuditEvent.PLACE_OPENED, "session_day", day.id, thing=day.held_on.isoformat(), after=_facts(wanted))
    return day.id


def change_session_day(act: Act, day_id: str, wanted: SessionDayWanted) -> None:
    """Change a session day still to come; its base stays. Its people are told when day or time changes."""
    day = planned_day(act, day_id)
    upcoming_day(act, day)
    _check(act, wanted)
    held = list(act.session.scalars(select(Place).where(Place.session_day_id == day_id, Place.ended_at.is_(None))))
    if len(held) > wanted.capacity:
        raise BadInput(f"{len(held)} places are taken already. Move some of them first.", field="capacity")
    _refuse_stranded(act, held, wanted)
    _sit_closer(act, held, wanted.capacity)
    when = (day.held_on, day.starts_at, day.ends_at)
    day.held_on, day.starts_at, day.ends_at = wanted.held_on, wanted.starts_at, wanted.ends_at
    day.about, day.capacity, day.takes_bookings = wanted.about.strip(), wanted.capacity, wanted.takes_bookings
    day.sequence, day.changed_at = day.sequence + 1, act.now
    for model in (SessionDayAssessor, SessionDayReach):
        act.session.execute(delete(model).where(model.session_day_id == day_id))
    _write_around(act, day_id, wanted)
    if when != (day.held_on, day.starts_at, day.ends_at):
        _say_moved(act, day, held)
    record(act, AuditEvent.SESSION_DAY_CHANGED, "session_day", day_id, thing=day.held_on.isoformat(),
           after=_facts(wanted))  # fmt: skip


def cancel_session_day(act: Act, day_id: str, *, reason: str) -> int:
    """Cancel a session day still to come, end its places, tell its people; return how many places it had."""
    day = planned_day(act, day_id)
    upcoming_day(act, day)
    if len(reason.strip()) < SHORTEST_REASON:
        raise BadInput("Say in a few words why; the people with a place read it.", field="reason")
    day.cancelled_at, day.cancelled_by, day.cancel_reason = act.now, act.actor.person_id, reason.strip()
    day.sequence, day.changed_at = day.sequence + 1, act.now
    held = list(act.session.scalars(select(Place).where(Place.session_day_id == day_id, Place.ended_at.is_(None))))
    for place in held:
        place.ended_at, place.ended_by, place.end_reason = (
            act.now,
            act.actor.person_id,
            "The session day was cancelled.",
        )
        place.sequence, place.changed_at = place.sequence + 1, act.now
    said = f"The session day on {day_in_words(day.held_on)} was cancelled: {reason.strip()} Your place there is gone."
    tell(act, [ToTell(person_id=place.person_id, about="place", about_id=place.id, text=said) for place in held])
    record(act, AuditEvent.SESSION_DAY_CANCELLED, "session_day", day_id, thing=day.held_on.isoformat(),
           after={"places": len(held)})  # fmt: skip
    return len(held)


def planned_day(act: Act, day_id: str) -> SessionDay:
    """Return a session day, held until the end of the act; raise NotFound unless the actor plans for its base."""
    day = locked_days(act, [day_id]).get(day_id)
    if day is None or not has_right(act.actor, Right.PLAN_PLACES, act.today, day.base_id):
        raise NotFound("There is no such session day of your bases.")
    return day


def _check(act: Act, wanted: SessionDayWanted) -> None:
    for field in ("starts_at", "ends_at"):
        if not CLOCK.fullmatch(getattr(wanted, field)):
            raise BadInput("Write the time as on a clock of 24 hours, such as 09:00.", field=field)
    if wanted.ends_at <= wanted.starts_at:
        raise BadInput("It has to end after it starts, on the same day.", field="ends_at")
    if not 0 <= (wanted.held_on - act.today).days <= FARTHEST_DAYS:
        raise BadInput("Give a day from today to two years on.", field="held_on")
    if not 1 <= wanted.capacity <= MOST_PLACES:
        raise BadInput(f"Give a number of places from 1 to {MOST_PLACES}.", field="capacity")
    if not 1 <= len(wanted.about.strip()) <= 200:
        raise BadInput("Say in up to 200 characters what the day is for.", field="about")
    known = set(act.session.scalars(select(RescueBase.id)))
    if not wanted.reach_ids or not known.issuperset(wanted.reach_ids):
        raise BadInput("Choose at least one base whose people can reach it.", field="reach_ids")
    _check_assessors(act, wanted)


def _check_assessors(act: Act, wanted: SessionDayWanted) -> None:
    held = roles_of(act.session, list(wanted.assessor_ids))
    for person_id in wanted.assessor_ids:
        roles = [one for one in held.get(person_id, ()) if one.role is Role.ASSESSOR]
        if not any(one.is_held_on(wanted.held_on) for one in roles):
            raise BadInput("One of them is no assessor on that day. Choose somebody else.", field="assessor_ids")


def _refuse_stranded(act: Act, held: Sequence[Place], wanted: SessionDayWanted) -> None:
    """Refuse a change after which somebody with a place would be watched only by themselves."""
    if any(not set(wanted.assessor_ids) - {place.person_id} for place in held):
        raise BadInput(
            "Somebody with a place would have nobody else to watch them. Name another assessor, or move them first.",
            field="assessor_ids",
        )


def _sit_closer(act: Act, held: Sequence[Place], capacity: int) -> None:
    """Give those beyond the last seat the free ones before it."""
    free = [seat for seat in range(1, capacity + 1) if seat not in {place.seat for place in held}]
    for place in held:
        if place.seat > capacity:
            place.seat = free.pop(0)
            act.session.flush()


def _write_around(act: Act, day_id: str, wanted: SessionDayWanted) -> None:
    for person_id in dict.fromkeys(wanted.assessor_ids):
        act.session.add(SessionDayAssessor(session_day_id=day_id, person_id=person_id))
    for base_id in dict.fromkeys(wanted.reach_ids):
        act.session.add(SessionDayReach(session_day_id=day_id, base_id=base_id))
    act.session.flush()


def _say_moved(act: Act, day: SessionDay, held: Sequence[Place]) -> None:
    for place in held:
        place.sequence, place.changed_at = place.sequence + 1, act.now
    when = f"{day_in_words(day.held_on)}, {day.starts_at} to {day.ends_at}"
    tell(
        act,
        [
            ToTell(person_id=place.person_id, about="place", about_id=place.id, text=f"Your place is now on {when}.")
            for place in held
        ],
    )


def _facts(wanted: SessionDayWanted) -> dict[str, str | int]:
    return {
        "base": wanted.base_id,
        "day": wanted.held_on.isoformat(),
        "time": f"{wanted.starts_at}-{wanted.ends_at}",
        "capacity": wanted.capacity,
        "assessors": len(set(wanted.assessor_ids)),
        "bases": len(set(wanted.reach_ids)),
    }
