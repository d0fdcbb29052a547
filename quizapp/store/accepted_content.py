"""Which content hashes a clinical lead accepted for sign-off, and which were withdrawn."""

from __future__ import annotations

from sqlalchemy import String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class ContentAcceptance(Record):
    """One file's exact bytes accepted for the service by a named clinical lead."""

    __tablename__ = "content_acceptance"
    __table_args__ = (UniqueConstraint("code", "content_hash"),)

    id: Mapped[Id]
    kind: Mapped[Code]
    code: Mapped[Code] = mapped_column(index=True)
    content_hash: Mapped[str] = mapped_column(String(64))
    accepted_by: Mapped[PersonId]
    accepted_at: Mapped[Moment]
    local_changes: Mapped[Prose]
    withdrawn_at: Mapped[MaybeMoment]
    withdrawn_by: Mapped[str | None] = mapped_column(String(32))
    withdrawal_reason: Mapped[str | None] = mapped_column(String(1000))
