"""Who holds which place when: one statement for any number of people. Readiness, the first page and plans ask here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from quizapp.services.act import Act
from quizapp.store.people import RescueBase
from quizapp.store.places import Place, SessionDay


@dataclass(frozen=True, kw_only=True)
class BookedPlace:
    """One place still to come: where and when, and whether it is kept in case the first one is missed."""

    place_id: str
    session_day_id: str
    person_id: str
    day: date
    starts_at: str
    ends_at: str
    base_name: str
    about: str
    is_fallback: bool


def booked_places(act: Act, person_ids: Collection[str]) -> dict[str, tuple[BookedPlace, ...]]:
    """Return the published places of people from today on, soonest first; people without one are left out."""
    rows = act.session.execute(
        select(Place, SessionDay, RescueBase.name)
        .join(SessionDay, SessionDay.id == Place.session_day_id)
        .join(RescueBase, RescueBase.id == SessionDay.base_id)
        .where(Place.person_id.in_(person_ids), Place.ended_at.is_(None), Place.attendance.is_(None))
        .where(SessionDay.held_on >= act.today, SessionDay.cancelled_at.is_(None))
        .order_by(SessionDay.held_on, SessionDay.starts_at, Place.id)
    )
    found: dict[str, list[BookedPlace]] = defaultdict(list)
    for place, day, base_name in rows:
        found[place.person_id].append(
            BookedPlace(
                place_id=place.id,
                session_day_id=day.id,
                person_id=place.person_id,
                day=day.held_on,
                starts_at=day.starts_at,
                ends_at=day.ends_at,
                base_name=base_name,
                about=day.about,
                is_fallback=place.is_fallback,
            )
        )
    return {person_id: tuple(places) for person_id, places in found.items()}


def booked_days(act: Act, person_ids: Collection[str]) -> dict[str, tuple[date, ...]]:
    """Return the days, soonest first, on which people hold a place; people without one are left out."""
    return {person_id: tuple(one.day for one in places) for person_id, places in booked_places(act, person_ids).items()}
