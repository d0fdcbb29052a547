"""A person's own notices as an Atom feed at a secret address, for those who read no mail of the service.

Source: RFC 4287 (the Atom syndication format).
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from xml.etree.ElementTree import Element, SubElement, tostring

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.calendars import FeedKind, FeedMade, feed_owner
from quizapp.services.passwords import token_hash
from quizapp.store.notices import Notice
from quizapp.store.people import Service
from quizapp.store.places import CalendarFeed

ATOM = "http://www.w3.org/2005/Atom"
MOST_ENTRIES = 50


def notice_feed_of(act: Act) -> CalendarFeed | None:
    """Return the actor's open address for notices, if there is one."""
    return act.session.scalar(
        select(CalendarFeed)
        .where(CalendarFeed.person_id == act.actor.person_id, CalendarFeed.ended_at.is_(None))
        .where(CalendarFeed.kind == FeedKind.NOTICES.value)
    )


def make_notice_feed(act: Act) -> FeedMade:
    """Make an address for the actor's own notices; an earlier one ends."""
    end_notice_feed(act)
    secret = act.randomness.secret()
    row = CalendarFeed(
        id=act.randomness.new_id(), person_id=act.actor.person_id, base_id=None, kind=FeedKind.NOTICES.value,
        secret_hash=token_hash(secret), made_at=act.now,
    )  # fmt: skip
    act.session.add(row)
    record(act, AuditEvent.CALENDAR_ADDRESS_MADE, "calendar_feed", row.id, thing="their own notices")
    return FeedMade(feed_id=row.id, secret=secret)


def end_notice_feed(act: Act) -> bool:
    """End the actor's address; from then on it gives nothing. Return whether there was one."""
    row = notice_feed_of(act)
    if row is None:
        return False
    row.ended_at = act.now
    record(act, AuditEvent.CALENDAR_ADDRESS_ENDED, "calendar_feed", row.id, thing="their own notices")
    return True


def read_notice_feed(act: Act, secret: str) -> str:
    """Return the notices behind an address as Atom; raises NotFound for a wrong or ended one. `act` is nobody's."""
    row = act.session.scalar(
        select(CalendarFeed)
        .where(CalendarFeed.secret_hash == token_hash(secret), CalendarFeed.ended_at.is_(None))
        .where(CalendarFeed.kind == FeedKind.NOTICES.value)
    )
    if row is None or feed_owner(act, row.person_id) is None:
        raise NotFound("There is no such feed. Whoever used it can make a new address on their own page.")
    service = act.session.scalars(select(Service)).one()
    notices = act.session.scalars(
        select(Notice)
        .where(Notice.person_id == row.person_id)
        .order_by(Notice.written_at.desc(), Notice.id)
        .limit(MOST_ENTRIES)
    )
    return _atom(row, service.name, list(notices))


def _atom(row: CalendarFeed, service_name: str, notices: list[Notice]) -> str:
    feed = Element("feed", xmlns=ATOM)
    newest = max((one.written_at for one in notices), default=row.made_at)
    _text(feed, "id", uuid.UUID(row.id).urn)
    _text(feed, "title", f"Notices, {service_name}")
    _text(feed, "updated", _moment(newest))
    _text(SubElement(feed, "author"), "name", service_name)
    for one in notices:
        entry = SubElement(feed, "entry")
        _text(entry, "id", uuid.UUID(one.id).urn)
        _text(entry, "title", one.subject)
        _text(entry, "updated", _moment(one.written_at))
        _text(entry, "content", one.body)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + tostring(feed, encoding="unicode")


def _text(parent: Element, name: str, words: str) -> None:
    SubElement(parent, name).text = words


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
