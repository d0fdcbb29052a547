"""The outbox while it is sent: each notice is claimed, sent, and settled in units of its own; none is sent twice.

A failed sending waits longer each time. One whose answer was lost may have arrived, so it is not sent again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from quizapp.assessment.notices import LOST_AFTER, MOST_ATTEMPTS, NoticeState, wait_after
from quizapp.services.send_mail import Outcome, Sent
from quizapp.store.notices import Notice
from quizapp.store.people import Person

MOST_AT_ONCE = 500


@dataclass(frozen=True, kw_only=True)
class ToSend:
    """One notice as it goes out."""

    address: str
    subject: str
    body: str


def due_notices(session: Session, now: datetime) -> list[str]:
    """Return the ids of what is due now to people with a mail address, oldest first, 500 at most."""
    rows = session.scalars(
        select(Notice.id)
        .join(Person, Person.id == Notice.person_id)
        .where(Notice.state == NoticeState.WAITING.value, Notice.next_try_at <= now)
        .where(Person.email.is_not(None), Person.email != "", Person.left_on.is_(None))
        .order_by(Notice.written_at, Notice.id)
        .limit(MOST_AT_ONCE)
    )
    return list(rows)


def settle_lost(session: Session, now: datetime) -> None:
    """Settle what a run that was killed while sending left behind: nobody knows whether it arrived."""
    session.execute(
        update(Notice)
        .where(Notice.state == NoticeState.SENDING.value, Notice.claimed_at < now - LOST_AFTER)
        .values(state=NoticeState.UNCERTAIN.value, settled_at=now, last_fault="the sending was interrupted")
    )


def claim(session: Session, notice_id: str, now: datetime) -> ToSend | None:
    """Take a notice for sending, unless another run took it; to be committed before anything is sent."""
    taken = session.execute(
        update(Notice)
        .where(Notice.id == notice_id, Notice.state == NoticeState.WAITING.value, Notice.next_try_at <= now)
        .values(state=NoticeState.SENDING.value, claimed_at=now, attempts=Notice.attempts + 1)
        .returning(Notice.id)
        .execution_options(synchronize_session=False)
    ).scalar()
    if taken is None:
        return None
    row = session.get_one(Notice, notice_id)
    address = session.get_one(Person, row.person_id).email or ""
    return ToSend(address=address, subject=row.subject, body=row.body)


def settle(session: Session, notice_id: str, now: datetime, outcome: Outcome) -> NoticeState:
    """Keep what became of a claimed notice, and when it is tried again; return its state."""
    row = session.get_one(Notice, notice_id)
    state = _after(outcome.sent, row.attempts)
    row.state, row.last_fault = state.value, outcome.fault[:300] or None
    if state is NoticeState.WAITING:
        row.next_try_at = now + wait_after(row.attempts)
    else:
        row.settled_at = now
    return state


def _after(sent: Sent, attempts: int) -> NoticeState:
    if sent is Sent.NOT_TAKEN:
        return NoticeState.WAITING if attempts < MOST_ATTEMPTS else NoticeState.GIVEN_UP
    return {
        Sent.TAKEN: NoticeState.SENT,
        Sent.PERHAPS: NoticeState.UNCERTAIN,
        Sent.REFUSED: NoticeState.GIVEN_UP,
    }[sent]
