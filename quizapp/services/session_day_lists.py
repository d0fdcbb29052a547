"""Session days as those see them who plan for them, who watch on them, and who hold a place on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import or_, select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.hold_place import may_record_attendance
from quizapp.services.people_list import BaseName, bases
from quizapp.services.plan_inputs import bases_planned
from quizapp.services.seats import DayAround, days_around
from quizapp.store.people import Person, RescueBase
from quizapp.store.places import Place, SessionDay, SessionDayAssessor, SessionDayReach
from quizapp.store.roles import RoleGrant

LISTED_DAYS_BACK = 30


@dataclass(frozen=True, kw_only=True)
class DayLine:
    """One session day with its base, who watches, and whether the actor may change it."""

    around: DayAround
    base_name: str
    assessors: tuple[str, ...]
    may_change: bool


@dataclass(frozen=True, kw_only=True)
class PlaceLine:
    """One place with its person, whether the actor may move it, and whether they may record attendance."""

    place: Place
    person: Person
    base_name: str
    may_move: bool
    may_record: bool


@dataclass(frozen=True, kw_only=True)
class DayShown:
    """One session day with the places on it, given-up ones left out."""

    line: DayLine
    reaches: tuple[str, ...]
    places: tuple[PlaceLine, ...]
    others: tuple[DayLine, ...]
    is_over: bool


@dataclass(frozen=True, kw_only=True)
class AssessorChoice:
    """Somebody who may watch on a session day."""

    person_id: str
    name: str
    base_name: str


def days_listed(act: Act) -> list[DayLine]:
    """Return the session days of the last month and to come that the actor's bases hold or that reach them."""
    mine = {base.id for base in bases_planned(act)}
    reaching = select(SessionDayReach.session_day_id).where(SessionDayReach.base_id.in_(mine))
    rows = act.session.scalars(
        select(SessionDay)
        .where(SessionDay.held_on >= act.today - timedelta(days=LISTED_DAYS_BACK))
        .where(or_(SessionDay.base_id.in_(mine), SessionDay.id.in_(reaching)))
        .order_by(SessionDay.held_on, SessionDay.starts_at, SessionDay.id)
    )
    return _lines(act, list(rows))


def days_watched(act: Act) -> list[DayLine]:
    """Return the session days of the last month and to come on which the actor watches."""
    rows = act.session.scalars(
        select(SessionDay)
        .join(SessionDayAssessor, SessionDayAssessor.session_day_id == SessionDay.id)
        .where(SessionDayAssessor.person_id == act.actor.person_id, SessionDay.cancelled_at.is_(None))
        .where(SessionDay.held_on >= act.today - timedelta(days=LISTED_DAYS_BACK))
        .order_by(SessionDay.held_on, SessionDay.starts_at, SessionDay.id)
    )
    return _lines(act, list(rows))


def _lines(act: Act, days: list[SessionDay]) -> list[DayLine]:
    around = days_around(act, days)
    names = _names(act, {who for one in around for who in one.assessor_ids})
    base_names = {base.id: base.name for base in bases(act)}
    return [
        DayLine(
            around=one,
            base_name=base_names[one.day.base_id],
            assessors=tuple(sorted(names[who] for who in one.assessor_ids)),
            may_change=has_right(act.actor, Right.PLAN_PLACES, act.today, one.day.base_id)
            and one.day.cancelled_at is None
            and one.day.held_on >= act.today,
        )
        for one in around
    ]


def _names(act: Act, ids: set[str]) -> dict[str, str]:
    rows = act.session.execute(select(Person.id, Person.name).where(Person.id.in_(ids)))
    return {row.id: row.name for row in rows}


def day_shown(act: Act, day_id: str) -> DayShown:
    """Return one session day with its places; raises NotFound unless the actor plans for its base or watches there."""
    day = act.session.get(SessionDay, day_id)
    if day is None or not may_record_attendance(act, day):
        raise NotFound("There is no such session day of yours.")
    (line,) = _lines(act, [day])
    base_names = {base.id: base.name for base in bases(act)}
    rows = act.session.execute(
        select(Place, Person)
        .join(Person, Person.id == Place.person_id)
        .where(Place.session_day_id == day_id, Place.ended_at.is_(None))
        .order_by(Place.is_fallback, Person.name, Person.id)
    )
    is_over = day.held_on < act.today
    others = days_listed(act) if has_right(act.actor, Right.PLAN_PLACES, act.today) else []
    return DayShown(
        line=line,
        reaches=tuple(sorted(base_names[base_id] for base_id in line.around.reach_ids)),
        places=tuple(
            PlaceLine(
                place=place,
                person=person,
                base_name=base_names[person.base_id],
                may_move=not is_over and has_right(act.actor, Right.PLAN_PLACES, act.today, person.base_id),
                may_record=day.held_on <= act.today and person.id != act.actor.person_id,
            )
            for place, person in rows
        ),
        others=tuple(one for one in others if one.around.day.id != day_id and _is_open(act, one)),
        is_over=is_over,
    )


def _is_open(act: Act, line: DayLine) -> bool:
    day = line.around.day
    return day.held_on >= act.today and day.cancelled_at is None and line.around.free > 0


def assessors_to_choose(act: Act) -> list[AssessorChoice]:
    """Return everybody who is an assessor today, by name."""
    rows = act.session.execute(
        select(Person, RescueBase.name)
        .join(RescueBase, RescueBase.id == Person.base_id)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == Role.ASSESSOR.value, RoleGrant.ended_at.is_(None), Person.left_on.is_(None))
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .order_by(Person.name, Person.id)
        .distinct()
    )
    return [AssessorChoice(person_id=person.id, name=person.name, base_name=name) for person, name in rows]


def bases_to_hold_at(act: Act) -> list[BaseName]:
    """Return the bases at which the actor may open a session day, by name."""
    return [BaseName(id=base.id, code=base.code, name=base.name) for base in bases_planned(act)]
