"""Which content hashes a clinical lead accepted for sign-off, and which were withdrawn."""

from __future__ import annotations

from sqlalchemy import ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class ContentAcceptance(Record):
    """One file's exact bytes accepted for the service by a named clinical lead."""

    __tablename__ = "content_acceptance"
    __table_args__ = (
        Index(
            "uq_content_acceptance_in_force",
            "code",
            "content_hash",
            unique=True,
            sqlite_where=text("withdrawn_at IS NULL"),
            postgresql_where=text("withdrawn_at IS NULL"),
        ),
    )

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


class ContentWithdrawal(Record):
    """A file, or one step of a procedure (`step`, else ""), that nobody is asked until this is lifted."""

    __tablename__ = "content_withdrawal"
    __table_args__ = (
        Index(
            "uq_content_withdrawal_in_force",
            "kind",
            "code",
            "content_hash",
            "step",
            unique=True,
            sqlite_where=text("lifted_at IS NULL"),
            postgresql_where=text("lifted_at IS NULL"),
        ),
    )

    id: Mapped[Id]
    kind: Mapped[Code]
    code: Mapped[Code] = mapped_column(index=True)
    content_hash: Mapped[str] = mapped_column(String(64))
    step: Mapped[str] = mapped_column(String(8))
    reason: Mapped[Prose]
    withdrawn_by: Mapped[PersonId]
    withdrawn_at: Mapped[Moment]
    lifted_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    lifted_at: Mapped[MaybeMoment]
