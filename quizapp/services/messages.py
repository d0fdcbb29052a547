"""What people are told on their first page, kept in the transaction of the act that gave rise to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.tell_by_mail import tell_by_mail
from quizapp.store.challenges import Message

MOST_SHOWN = 20


@dataclass(frozen=True, kw_only=True)
class ToTell:
    """One message to one person. `about` and `about_id` say what it is about, so that a page can lead there."""

    person_id: str
    about: str
    about_id: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Told:
    """One message as its person reads it."""

    id: str
    about: str
    about_id: str
    text: str
    written_at: datetime


def tell(act: Act, messages: Iterable[ToTell]) -> int:
    """Write messages and return how many; they are part of the act and go with it if it fails."""
    rows = [
        Message(
            id=act.randomness.new_id(),
            person_id=one.person_id,
            about=one.about,
            about_id=one.about_id,
            text=one.text,
            written_at=act.now,
            seen_at=None,
        )
        for one in messages
    ]
    act.session.add_all(rows)
    tell_by_mail(act, rows)
    return len(rows)


def unread_messages(act: Act) -> tuple[Told, ...]:
    """Return the actor's messages that were not put away, newest first."""
    rows = act.session.scalars(
        select(Message)
        .where(Message.person_id == act.actor.person_id, Message.seen_at.is_(None))
        .order_by(Message.written_at.desc(), Message.id)
        .limit(MOST_SHOWN)
    )
    return tuple(
        Told(id=row.id, about=row.about, about_id=row.about_id, text=row.text, written_at=row.written_at)
        for row in rows
    )


def put_away(act: Act, message_id: str) -> None:
    """Put one of the actor's own messages away; it is kept. Raises NotFound for any other."""
    row = act.session.get(Message, message_id)
    if row is None or row.person_id != act.actor.person_id:
        raise NotFound("There is no such message of yours.")
    row.seen_at = row.seen_at or act.now
