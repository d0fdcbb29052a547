"""Structured discussions: what was asked, what was said, how it was marked, and the signature once it is signed."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class Discussion(Record):
    """One discussion of one person with an assessor or educator; nobody discusses with oneself.

    `answers` holds for each question what was said and its mark; it changes until the discussion is signed.
    """

    __tablename__ = "discussion"
    __table_args__ = (
        CheckConstraint("person_id <> holder_id", name="never_oneself"),
        CheckConstraint("signature_id IS NULL OR discarded_at IS NULL", name="discarded_is_never_signed"),
        CheckConstraint("(discarded_at IS NULL) = (discard_reason IS NULL)", name="discarded_with_reason"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    holder_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)
    base_id: Mapped[BaseId]
    code: Mapped[Code]
    competency: Mapped[Code]
    content_hash: Mapped[str] = mapped_column(String(64))
    counts_for_sign_off: Mapped[bool]
    frozen: Mapped[Json]
    profile_code: Mapped[str | None] = mapped_column(String(64))
    profile_revision: Mapped[int | None]
    connection: Mapped[str | None] = mapped_column(String(500))
    answers: Mapped[Json]
    critical_errors: Mapped[Json]
    person_words: Mapped[str | None] = mapped_column(String(2000))
    opened_at: Mapped[Moment]
    saved_at: Mapped[Moment]
    signed_at: Mapped[MaybeMoment]
    signature_id: Mapped[str | None] = mapped_column(String(32))
    discarded_at: Mapped[MaybeMoment]
    discard_reason: Mapped[str | None] = mapped_column(String(500))
