"""Puts notices into the outbox, each about one thing only once, in the transaction of the act behind it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.notices import NoticeKind, NoticeState
from quizapp.services.act import Act
from quizapp.store.notices import Notice

FOOT = "Training and assessment only. This mail tells no result; sign in to read more."


@dataclass(frozen=True, kw_only=True)
class NoticeWanted:
    """One notice; `once_key` says what it is about, and the same thing is never written twice."""

    person_id: str
    kind: NoticeKind
    once_key: str
    subject: str
    body: str


def write_notices(act: Act, wanted: Iterable[NoticeWanted]) -> int:
    """Put notices into the outbox, those written before left out; part of the act, gone with it if it fails."""
    fresh = {one.once_key: one for one in wanted}
    known = set(act.session.scalars(select(Notice.once_key).where(Notice.once_key.in_(fresh))))
    rows = [
        Notice(
            id=act.randomness.new_id(), person_id=one.person_id, kind=one.kind.value, once_key=key,
            subject=one.subject, body=f"{one.body}\n\n{FOOT}\n", written_at=act.now,
            state=NoticeState.WAITING.value, attempts=0, next_try_at=act.now,
        )
        for key, one in fresh.items()
        if key not in known
    ]  # fmt: skip
    act.session.add_all(rows)
    act.session.flush()
    return len(rows)
