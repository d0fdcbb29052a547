"""The actor's own places, and the days on which they may take one."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.booked_places import BookedPlace, booked_places
from quizapp.services.hold_place import bookable_days
from quizapp.store.people import RescueBase
from quizapp.store.places import SessionDay


@dataclass(frozen=True, kw_only=True)
class MyPlaces:
    """The places held, soonest first, and what may be taken; nothing may be while a place is held."""

    held: tuple[BookedPlace, ...]
    to_take: tuple[tuple[SessionDay, str], ...]


def my_places(act: Act) -> MyPlaces:
    """Return the actor's places from today on and the days on which they may take one themselves."""
    me = act.actor.person_id
    held = booked_places(act, [me]).get(me, ())
    names = {base.id: base.name for base in act.session.scalars(select(RescueBase))}
    has_one = any(not one.is_fallback for one in held)
    days = () if has_one else tuple((day, names[day.base_id]) for day in bookable_days(act))
    return MyPlaces(held=held, to_take=days)


def my_place(act: Act, place_id: str) -> BookedPlace:
    """Return one of the actor's places still to come; raises NotFound for any other."""
    found = next((one for one in my_places(act).held if one.place_id == place_id), None)
    if found is None:
        raise NotFound("There is no such place of yours to come.")
    return found
