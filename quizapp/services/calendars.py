"""Calendars of one's own places and of the session days of a base: as a file, or read from a secret address."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from sqlalchemy import or_, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.calendar_text import CalendarEvent, EventStatus, Method, calendar_file
from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.hold_place import own_place
from quizapp.services.passwords import token_hash
from quizapp.services.require_right import require_right
from quizapp.services.seats import days_around
from quizapp.services.sign_in import actor_of
from quizapp.store.accounts import Account
from quizapp.store.people import Person, RescueBase, Service
from quizapp.store.places import CalendarFeed, Place, SessionDay, SessionDayAssessor, SessionDayReach

KEPT_DAYS = 60
"""How long a day that is over, and a place that was given up, stays in a calendar."""
NOT_FOR_CARE = "Training and assessment only."


class FeedKind(StrEnum):
    """Whose calendar an address gives."""

    OWN_PLACES = "own_places"
    BASE_DAYS = "base_days"
    NOTICES = "notices"


CALENDARS = (FeedKind.OWN_PLACES.value, FeedKind.BASE_DAYS.value)


@dataclass(frozen=True, kw_only=True)
class FeedMade:
    """A new address: its secret, which is shown once and kept only as a hash."""

    feed_id: str
    secret: str


def my_calendar(act: Act) -> str:
    """Return the actor's own places and the days they watch on as a calendar file."""
    require_right(act, Right.SEE_OWN_RECORD)
    return _person_calendar(act, act.session.get_one(Person, act.actor.person_id))


def place_file(act: Act, place_id: str) -> tuple[str, Method]:
    """Return one of the actor's own places as a file; one given up as a cancellation, so that calendars take it out."""
    place = own_place(act, place_id)
    day = act.session.get_one(SessionDay, place.session_day_id)
    service = act.session.scalars(select(Service)).one()
    base = act.session.get_one(RescueBase, day.base_id)
    event = _place_event(act.zone, service, place, day, base.name)
    method = Method.CANCEL if event.status is EventStatus.CANCELLED else Method.NONE
    return calendar_file([event], name=f"Place, {service.name}", method=method), method


def base_calendar(act: Act, base_id: str) -> str:
    """Return the session days that a base holds or reaches as a calendar file, without anybody's name."""
    base = act.session.get(RescueBase, base_id)
    if base is None or not has_right(act.actor, Right.SEE_READINESS, act.today, base_id):
        raise NotFound("There is no such base of yours.")
    return _base_calendar(act, base)


def bases_with_calendars(act: Act) -> list[RescueBase]:
    """Return the bases whose calendar the actor may see, by name."""
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name, RescueBase.id))
    return [base for base in rows if has_right(act.actor, Right.SEE_READINESS, act.today, base.id)]


def feeds_of(act: Act) -> dict[str, CalendarFeed]:
    """Return the actor's addresses that are open: "" for the own places, else by base."""
    rows = act.session.scalars(
        select(CalendarFeed)
        .where(CalendarFeed.person_id == act.actor.person_id, CalendarFeed.ended_at.is_(None))
        .where(CalendarFeed.kind.in_(CALENDARS))
    )
    return {row.base_id or "": row for row in rows}


def make_feed(act: Act, base_id: str = "") -> FeedMade:
    """Make an address for the actor's own places, or for the days of a base; an earlier one of theirs ends."""
    require_right(act, Right.SEE_READINESS if base_id else Right.SEE_OWN_RECORD, base_id or None)
    end_feed(act, base_id)
    secret = act.randomness.secret()
    row = CalendarFeed(
        id=act.randomness.new_id(),
        person_id=act.actor.person_id,
        base_id=base_id or None,
        kind=(FeedKind.BASE_DAYS if base_id else FeedKind.OWN_PLACES).value,
        secret_hash=token_hash(secret),
        made_at=act.now,
    )
    act.session.add(row)
    record(act, AuditEvent.CALENDAR_ADDRESS_MADE, "calendar_feed", row.id, thing=_thing(base_id))
    return FeedMade(feed_id=row.id, secret=secret)


def end_feed(act: Act, base_id: str = "") -> bool:
    """End the actor's own address; from then on it gives nothing. Return whether there was one."""
    row = feeds_of(act).get(base_id)
    if row is None:
        return False
    row.ended_at = act.now
    record(act, AuditEvent.CALENDAR_ADDRESS_ENDED, "calendar_feed", row.id, thing=_thing(base_id))
    return True


def _thing(base_id: str) -> str:
    return "a base" if base_id else "their own places"


def feed_calendar(act: Act, secret: str) -> str:
    """Return what an address gives now; raises NotFound for a wrong or ended one, and where its person may no longer.

    `act` is nobody's: the secret alone says whose calendar it is. A closed account, or a role that ended, ends it too.
    """
    row = act.session.scalar(
        select(CalendarFeed)
        .where(CalendarFeed.secret_hash == token_hash(secret), CalendarFeed.ended_at.is_(None))
        .where(CalendarFeed.kind.in_(CALENDARS))
    )
    owner = None if row is None else feed_owner(act, row.person_id)
    if row is None or owner is None:
        raise NotFound("There is no such calendar. Whoever used it can make a new address on their own page.")
    if row.base_id is None:
        return _person_calendar(act, owner)
    if not has_right(actor_of(act.session, owner.id), Right.SEE_READINESS, act.today, row.base_id):
        raise NotFound("There is no such calendar. Whoever used it can make a new address on their own page.")
    return _base_calendar(act, act.session.get_one(RescueBase, row.base_id))


def feed_owner(act: Act, person_id: str) -> Person | None:
    """Return whose address it is, None where they left or their account is closed."""
    return act.session.scalar(
        select(Person)
        .join(Account, Account.person_id == Person.id)
        .where(Person.id == person_id, Person.left_on.is_(None), Account.is_active.is_(True))
    )


def _person_calendar(act: Act, person: Person) -> str:
    service = act.session.scalars(select(Service)).one()
    events = [*_own_places(act, service, person), *_own_watches(act, service, person)]
    return calendar_file(sorted(events, key=lambda one: (one.starts_at, one.uid)), name=f"Places, {service.name}")


def _own_places(act: Act, service: Service, person: Person) -> Iterable[CalendarEvent]:
    since = act.today - timedelta(days=KEPT_DAYS)
    rows = act.session.execute(
        select(Place, SessionDay, RescueBase.name)
        .join(SessionDay, SessionDay.id == Place.session_day_id)
        .join(RescueBase, RescueBase.id == SessionDay.base_id)
        .where(Place.person_id == person.id, SessionDay.held_on >= since)
        .where(or_(Place.ended_at.is_(None), Place.ended_at >= act.now - timedelta(days=KEPT_DAYS)))
    )
    return [_place_event(act.zone, service, place, day, base_name) for place, day, base_name in rows]


def _own_watches(act: Act, service: Service, person: Person) -> Iterable[CalendarEvent]:
    rows = act.session.execute(
        select(SessionDay, RescueBase.name)
        .join(SessionDayAssessor, SessionDayAssessor.session_day_id == SessionDay.id)
        .join(RescueBase, RescueBase.id == SessionDay.base_id)
        .where(SessionDayAssessor.person_id == person.id)
        .where(SessionDay.held_on >= act.today - timedelta(days=KEPT_DAYS))
    )
    return [
        _day_event(act.zone, service, day, base_name, f"watch-{day.id}-{person.id}", "You watch", day.about)
        for day, base_name in rows
    ]


def _base_calendar(act: Act, base: RescueBase) -> str:
    service = act.session.scalars(select(Service)).one()
    reaching = select(SessionDayReach.session_day_id).where(SessionDayReach.base_id == base.id)
    rows = act.session.execute(
        select(SessionDay, RescueBase.name)
        .join(RescueBase, RescueBase.id == SessionDay.base_id)
        .where(SessionDay.held_on >= act.today - timedelta(days=KEPT_DAYS))
        .where(or_(SessionDay.base_id == base.id, SessionDay.id.in_(reaching)))
        .order_by(SessionDay.held_on, SessionDay.starts_at, SessionDay.id)
    ).all()
    taken = {one.day.id: one.taken for one in days_around(act, [day for day, _ in rows])}
    events = [
        _day_event(
            act.zone, service, day, name, f"day-{day.id}", "Session day",
            f"{day.about}. {taken[day.id]} of {day.capacity} places are taken.",
        )
        for day, name in rows
    ]  # fmt: skip
    return calendar_file(events, name=f"Session days, {base.name}")


def _place_event(zone: ZoneInfo, service: Service, place: Place, day: SessionDay, base_name: str) -> CalendarEvent:
    status = EventStatus.TENTATIVE if place.is_fallback else EventStatus.CONFIRMED
    if place.ended_at is not None or day.cancelled_at is not None:
        status = EventStatus.CANCELLED
    words = "Second place, in case the first is missed" if place.is_fallback else "Your place"
    starts_at, ends_at = hours(zone, day)
    return CalendarEvent(
        uid=f"place-{place.id}",
        sequence=place.sequence,
        starts_at=starts_at,
        ends_at=ends_at,
        changed_at=place.changed_at,
        summary=f"{words}: {day.about}",
        location=base_name,
        description=NOT_FOR_CARE,
        status=status,
        organizer_name=service.name,
        organizer_uri=uuid.UUID(service.id).urn,
    )


def _day_event(
    zone: ZoneInfo, service: Service, day: SessionDay, base_name: str, uid: str, words: str, about: str
) -> CalendarEvent:
    starts_at, ends_at = hours(zone, day)
    return CalendarEvent(
        uid=uid,
        sequence=day.sequence,
        starts_at=starts_at,
        ends_at=ends_at,
        changed_at=day.changed_at,
        summary=f"{words}, {base_name}",
        location=base_name,
        description=f"{about.removesuffix('.')}. {NOT_FOR_CARE}",
        status=EventStatus.CONFIRMED if day.cancelled_at is None else EventStatus.CANCELLED,
        organizer_name=service.name,
        organizer_uri=uuid.UUID(service.id).urn,
    )


def hours(zone: ZoneInfo, day: SessionDay) -> tuple[datetime, datetime]:
    """Return when a session day starts and ends, as moments of the service's zone."""
    return (
        datetime.combine(day.held_on, time.fromisoformat(day.starts_at), zone),
        datetime.combine(day.held_on, time.fromisoformat(day.ends_at), zone),
    )
