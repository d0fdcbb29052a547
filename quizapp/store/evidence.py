"""Evidence: one row per person and competency for each sitting, observation or recognised outside evidence."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Json, Moment, PersonId, Prose
from quizapp.store.model import Record


class Evidence(Record):
    """What one act showed about one competency of one person.

    A row that `replaces_id` another says the same act anew, after a key or a mark was corrected; the other one stays
    readable and counts no more.
    """

    __tablename__ = "evidence"
    __table_args__ = (
        CheckConstraint("assessor_id IS NULL OR assessor_id <> person_id", name="never_oneself"),
        Index("ix_evidence_person_competency", "person_id", "competency"),
        Index("ix_evidence_source", "source_id"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    competency: Mapped[Code]
    kind: Mapped[Code]
    source_id: Mapped[str] = mapped_column(String(32))
    procedure: Mapped[str | None] = mapped_column(String(64))
    outcome: Mapped[Code]
    summary: Mapped[Prose]
    counts_for_sign_off: Mapped[bool]
    profile_code: Mapped[str | None] = mapped_column(String(64))
    profile_revision: Mapped[int | None]
    assessor_id: Mapped[str | None] = mapped_column(String(32))
    details: Mapped[Json]
    happened_at: Mapped[Moment]
    recorded_at: Mapped[Moment]
    replaces_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("evidence.id", ondelete="RESTRICT"), unique=True
    )
