"""One person's place: taken by themselves where a day allows it, moved, given up, and what became of it on the day."""

from __future__ import annotations

from sqlalchemy import select

from quizapp.assessment.attendance import Attendance
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import day_in_words
from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.messages import ToTell, tell
from quizapp.services.require_right import refuse_oneself, require_right
from quizapp.services.seats import days_around, locked_days, locked_people, open_places, take_seat, upcoming_day
from quizapp.store.people import Person
from quizapp.store.places import Place, SessionDay, SessionDayAssessor

SHORTEST_REASON = 5


def book_place(act: Act, day_id: str) -> str:
    """Take a free place for oneself on a day that people may book, and return its id.

    Raises NotFound for a day that does not reach one's base, Conflict when it is full or one has a place already.
    """
    require_right(act, Right.BOOK_PLACE)
    me = locked_people(act, [act.actor.person_id])[act.actor.person_id]
    day = upcoming_day(act, locked_days(act, [day_id]).get(day_id))
    if not day.takes_bookings:
        raise NotFound("There is no such session day to book.")
    if any(not one.is_fallback for one in open_places(act, [me.id]).get(me.id, ())):
        raise Conflict("You have a place already. Nothing was changed. Give that one up first.")
    refuse_seat(act, me, day)
    place = new_place(act, day, me.id, is_fallback=False)
    record(act, AuditEvent.PLACE_BOOKED, "place", place.id, person_id=me.id, thing=day.held_on.isoformat(),
           after={"session_day": day.id, "seat": place.seat})  # fmt: skip
    return place.id


def new_place(act: Act, day: SessionDay, person_id: str, *, is_fallback: bool) -> Place:
    """Write a place on the lowest free seat of a locked day; raise Conflict when there is none."""
    place = Place(
        id=act.randomness.new_id(), session_day_id=day.id, person_id=person_id, seat=take_seat(act, day),
        is_fallback=is_fallback, booked_by=act.actor.person_id, booked_at=act.now, changed_at=act.now, sequence=0,
    )  # fmt: skip
    act.session.add(place)
    act.session.flush()
    return place


def refuse_seat(act: Act, person: Person, day: SessionDay) -> None:
    """Raise NotFound when the person's base does not reach the day, Conflict when nobody else watches there."""
    (around,) = days_around(act, [day])
    if person.base_id not in around.reach_ids:
        raise NotFound("There is no such session day for this base.")
    if not around.assessor_ids - {person.id}:
        raise Conflict("Nobody else watches on this day, and nobody is watched by themselves. Choose another day.")


def move_place(act: Act, place_id: str, to_day_id: str) -> None:
    """Move a published place to another day; its person is told and calendars follow. Raises Conflict when full."""
    place, person = planned_place(act, place_id)
    locked_people(act, [person.id])
    days = locked_days(act, {place.session_day_id, to_day_id})
    upcoming_day(act, days[place.session_day_id])
    target = upcoming_day(act, days.get(to_day_id))
    if to_day_id == place.session_day_id:
        raise Conflict("The place is on that day already. Nothing was changed.")
    if any(one.session_day_id == to_day_id for one in open_places(act, [person.id]).get(person.id, ())):
        raise Conflict("This person has a place on that day already. Nothing was changed.")
    refuse_seat(act, person, target)
    before = place.session_day_id
    place.seat, place.session_day_id = take_seat(act, target), to_day_id
    place.sequence, place.changed_at = place.sequence + 1, act.now
    said = f"Your place was moved to {day_in_words(target.held_on)}, {target.starts_at} to {target.ends_at}."
    tell(act, [ToTell(person_id=person.id, about="place", about_id=place.id, text=said)])
    record(act, AuditEvent.PLACE_MOVED, "place", place.id, person_id=person.id, thing=target.held_on.isoformat(),
           before={"session_day": before}, after={"session_day": to_day_id, "seat": place.seat})  # fmt: skip


def give_up_place(act: Act, place_id: str, *, reason: str) -> None:
    """Give up one's own place, or one of a person one plans for; the seat is free at once."""
    place = act.session.get(Place, place_id)
    is_own = place is not None and place.person_id == act.actor.person_id
    if not is_own:
        place, _ = planned_place(act, place_id)
    if place is None or place.ended_at is not None:
        raise Conflict("This place was given up before. Nothing was changed.")
    day = upcoming_day(act, locked_days(act, [place.session_day_id]).get(place.session_day_id))
    if len(reason.strip()) < SHORTEST_REASON:
        raise BadInput("Say why in a few words.", field="reason")
    end_place(act, place, day, reason=reason.strip())
    if not is_own:
        said = f"Your place on {day_in_words(day.held_on)} was given up: {reason.strip()}"
        tell(act, [ToTell(person_id=place.person_id, about="place", about_id=place.id, text=said)])


def end_place(act: Act, place: Place, day: SessionDay, *, reason: str) -> None:
    """End a place and free its seat."""
    place.ended_at, place.ended_by, place.end_reason = act.now, act.actor.person_id, reason
    place.sequence, place.changed_at = place.sequence + 1, act.now
    record(act, AuditEvent.PLACE_CANCELLED, "place", place.id, person_id=place.person_id,
           thing=day.held_on.isoformat(), after={"session_day": day.id})  # fmt: skip


def planned_place(act: Act, place_id: str) -> tuple[Place, Person]:
    """Return a place and its person; raise NotFound unless the actor plans for the person's base."""
    place = act.session.get(Place, place_id)
    person = act.session.get(Person, place.person_id) if place is not None else None
    if place is None or person is None or not has_right(act.actor, Right.PLAN_PLACES, act.today, person.base_id):
        raise NotFound("There is no such place of your bases.")
    if place.ended_at is not None:
        raise Conflict("This place was given up. Nothing was changed.")
    return place, person


def record_attendance(act: Act, place_id: str, attendance: Attendance) -> str:
    """Record whether somebody came and return the session day's id; who came needs no fallback place any more.

    By those who plan for the day's base and by the day's assessors, never for oneself, from the day itself on.
    """
    place = act.session.get(Place, place_id)
    day = act.session.get(SessionDay, place.session_day_id) if place is not None else None
    if place is None or day is None or place.ended_at is not None or not may_record_attendance(act, day):
        raise NotFound("There is no such place of your session days.")
    refuse_oneself(act, place.person_id, "record their own attendance")
    if day.held_on > act.today:
        raise Conflict("This day is still to come. Nothing was recorded. Record it on the day.")
    before = place.attendance
    place.attendance, place.attendance_by, place.attendance_at = attendance.value, act.actor.person_id, act.now
    record(
        act,
        AuditEvent.ATTENDANCE_RECORDED,
        "place",
        place.id,
        person_id=place.person_id,
        thing=day.held_on.isoformat(),
        before={"attendance": before},
        after={"attendance": attendance.value},
    )
    if attendance is Attendance.CAME and not place.is_fallback:
        _release_fallbacks(act, place.person_id)
    return day.id


def may_record_attendance(act: Act, day: SessionDay) -> bool:
    """Whether the actor plans for the day's base or watches on that day."""
    if has_right(act.actor, Right.PLAN_PLACES, act.today, day.base_id):
        return True
    return act.session.get(SessionDayAssessor, (day.id, act.actor.person_id)) is not None


def _release_fallbacks(act: Act, person_id: str) -> None:
    for place in open_places(act, [person_id]).get(person_id, ()):
        if place.is_fallback:
            end_place(
                act, place, act.session.get_one(SessionDay, place.session_day_id), reason="The first place was used."
            )


def bookable_days(act: Act) -> list[SessionDay]:
    """Return the days still to come on which the actor may take a place themselves and one is free, soonest first."""
    require_right(act, Right.BOOK_PLACE)
    me = act.session.get_one(Person, act.actor.person_id)
    rows = act.session.scalars(
        select(SessionDay)
        .where(SessionDay.held_on > act.today, SessionDay.cancelled_at.is_(None), SessionDay.takes_bookings)
        .order_by(SessionDay.held_on, SessionDay.starts_at, SessionDay.id)
    )
    return [
        one.day
        for one in days_around(act, list(rows))
        if one.free > 0 and me.base_id in one.reach_ids and one.assessor_ids - {me.id}
    ]


def own_place(act: Act, place_id: str) -> Place:
    """Return one of the actor's own places; raises NotFound for any other."""
    place = act.session.get(Place, place_id)
    if place is None or place.person_id != act.actor.person_id:
        raise NotFound("There is no such place of yours.")
    return place
