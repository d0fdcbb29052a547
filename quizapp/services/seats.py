"""Seats of session days: taken under a lock, never more than there are, and nobody two at once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute

from quizapp.assessment.attendance import Attendance
from quizapp.errors import Conflict, NotFound
from quizapp.services.act import Act
from quizapp.store.people import Person
from quizapp.store.places import Place, SessionDay, SessionDayAssessor, SessionDayReach


@dataclass(frozen=True, kw_only=True)
class DayAround:
    """What decides who may sit on a session day: its bases, its assessors, its free seats."""

    day: SessionDay
    reach_ids: frozenset[str]
    assessor_ids: frozenset[str]
    taken: int

    @property
    def free(self) -> int:
        """How many seats nobody holds."""
        return self.day.capacity - self.taken


def locked_people(act: Act, person_ids: Collection[str]) -> dict[str, Person]:
    """Return people, each held until the end of the act, so that nobody gets two places in one moment."""
    rows = act.session.scalars(
        select(Person).where(Person.id.in_(person_ids)).order_by(Person.id).with_for_update(key_share=True),
        execution_options={"populate_existing": True},
    )
    return {row.id: row for row in rows}


def locked_days(act: Act, day_ids: Collection[str]) -> dict[str, SessionDay]:
    """Return session days, each held until the end of the act; always in the same order, so nobody waits in a ring."""
    rows = act.session.scalars(
        select(SessionDay).where(SessionDay.id.in_(day_ids)).order_by(SessionDay.id).with_for_update(key_share=True),
        execution_options={"populate_existing": True},
    )
    return {row.id: row for row in rows}


def upcoming_day(act: Act, day: SessionDay | None) -> SessionDay:
    """Return the day; raise NotFound where there is none, Conflict where it is over or cancelled."""
    if day is None:
        raise NotFound("There is no such session day.")
    if day.cancelled_at is not None:
        raise Conflict("This session day was cancelled. Nothing was changed. Choose another day.")
    if day.held_on < act.today:
        raise Conflict("This session day is over. Nothing was changed. Choose another day.")
    return day


def days_around(act: Act, days: Sequence[SessionDay]) -> list[DayAround]:
    """Return session days with what decides who may sit there, with three statements."""
    ids = [day.id for day in days]
    reach = _pairs(act, SessionDayReach.session_day_id, SessionDayReach.base_id, ids)
    assessors = _pairs(act, SessionDayAssessor.session_day_id, SessionDayAssessor.person_id, ids)
    counted = select(Place.session_day_id, func.count()).where(Place.session_day_id.in_(ids), Place.ended_at.is_(None))
    taken = dict(act.session.execute(counted.group_by(Place.session_day_id)).all())
    return [
        DayAround(
            day=day,
            reach_ids=frozenset(reach.get(day.id, ())),
            assessor_ids=frozenset(assessors.get(day.id, ())),
            taken=taken.get(day.id, 0),
        )
        for day in days
    ]


def _pairs(
    act: Act, key: InstrumentedAttribute[str], value: InstrumentedAttribute[str], ids: Sequence[str]
) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for one, other in act.session.execute(select(key, value).where(key.in_(ids))):
        found.setdefault(one, []).append(other)
    return found


def take_seat(act: Act, day: SessionDay) -> int:
    """Return the lowest free seat of a day that was locked before; raise Conflict when it is full."""
    held = set(act.session.scalars(select(Place.seat).where(Place.session_day_id == day.id, Place.ended_at.is_(None))))
    free = next((seat for seat in range(1, day.capacity + 1) if seat not in held), None)
    if free is None:
        raise Conflict("The last place on this day was taken a moment ago. Nothing was changed. Choose another day.")
    return free


def open_places(act: Act, person_ids: Collection[str]) -> dict[str, list[Place]]:
    """Return the places that people hold on days still to come and not attended yet, fallbacks included."""
    rows = act.session.scalars(
        select(Place)
        .join(SessionDay, SessionDay.id == Place.session_day_id)
        .where(Place.person_id.in_(person_ids), Place.ended_at.is_(None), Place.attendance.is_(None))
        .where(SessionDay.held_on >= act.today, SessionDay.cancelled_at.is_(None))
    )
    found: dict[str, list[Place]] = {}
    for row in rows:
        found.setdefault(row.person_id, []).append(row)
    return found


def attended(act: Act, person_ids: Collection[str]) -> dict[str, tuple[int, int]]:
    """Return for each person how often they came and how often they stayed away without saying so."""
    rows = act.session.execute(
        select(Place.person_id, Place.attendance, func.count())
        .where(Place.person_id.in_(person_ids), Place.attendance.is_not(None))
        .group_by(Place.person_id, Place.attendance)
    )
    found: dict[str, tuple[int, int]] = {}
    for person_id, attendance, number in rows:
        came, missed = found.get(person_id, (0, 0))
        came += number if attendance == Attendance.CAME else 0
        missed += number if attendance == Attendance.DID_NOT_COME else 0
        found[person_id] = (came, missed)
    return found
