"""The outbox: what is to be sent to people by mail, written with the act behind it, and what became of it."""

from __future__ import annotations

from sqlalchemy import Index, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Line, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Notice(Record):
    """One notice to one person. `once_key` names what it is about: the same thing is never written twice.

    `state`: waiting, sending (somebody is at it), sent, uncertain (the answer was lost), given_up.
    """

    __tablename__ = "notice"
    __table_args__ = (Index("ix_notice_state", "state", "next_try_at"),)

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    kind: Mapped[Code]
    once_key: Mapped[str] = mapped_column(String(160), unique=True)
    subject: Mapped[Line]
    body: Mapped[Prose]
    written_at: Mapped[Moment]
    state: Mapped[Code]
    attempts: Mapped[int]
    next_try_at: Mapped[Moment]
    claimed_at: Mapped[MaybeMoment]
    settled_at: Mapped[MaybeMoment]
    last_fault: Mapped[str | None] = mapped_column(String(300))
