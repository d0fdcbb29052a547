"""Decisions that people sign: competent, not yet, restricted; and suspensions, withdrawals, pauses."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Decision(Record):
    """One decision on one competency of one person; nobody decides on oneself. Only a void is ever added to it.

    For recognised outside evidence (`origin`) the two names are those who recorded it. `replaces_id` names the
    version that this one amends.
    """

    __tablename__ = "decision"
    __table_args__ = (
        CheckConstraint("decided_by <> person_id", name="never_oneself"),
        CheckConstraint("second_by IS NULL OR (second_by <> person_id AND second_by <> decided_by)", name="two_people"),
        CheckConstraint("last_valid_day IS NULL OR last_valid_day >= valid_from", name="ends_after_start"),
        Index("ix_decision_person_competency", "person_id", "competency"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    base_id: Mapped[BaseId]
    competency: Mapped[Code]
    outcome: Mapped[Code]
    origin: Mapped[Code]
    reason: Mapped[Prose]
    conditions: Mapped[str | None] = mapped_column(String(2000))
    valid_from: Mapped[date] = mapped_column(Date)
    last_valid_day: Mapped[date | None] = mapped_column(Date)
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    standard_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("standard.id", ondelete="RESTRICT"))
    evidence_ids: Mapped[Json]
    decided_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)
    second_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    decided_at: Mapped[Moment]
    signature_id: Mapped[str | None] = mapped_column(String(32))
    second_signature_id: Mapped[str | None] = mapped_column(String(32))
    replaces_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("decision.id", ondelete="RESTRICT"), unique=True
    )
    voided_at: Mapped[MaybeMoment]


class DecisionVoid(Record):
    """One educator proposed to void a decision; a second one confirms it, or declines and says why."""

    __tablename__ = "decision_void"
    __table_args__ = (
        CheckConstraint("proposed_by <> person_id", name="never_oneself"),
        CheckConstraint("settled_by IS NULL OR (settled_by <> person_id AND settled_by <> proposed_by)",
                        name="two_people"),
        CheckConstraint("(settled_at IS NULL) = (settled_by IS NULL)", name="settled_by_somebody"),
        CheckConstraint("(settled_at IS NULL) = (is_confirmed IS NULL)", name="settled_one_way"),
        Index("uq_decision_void_open", "decision_id", unique=True, sqlite_where=text("settled_at IS NULL"),
              postgresql_where=text("settled_at IS NULL")),
    )  # fmt: skip

    id: Mapped[Id]
    decision_id: Mapped[str] = mapped_column(String(32), ForeignKey("decision.id", ondelete="RESTRICT"), index=True)
    person_id: Mapped[PersonId]
    reason: Mapped[Prose]
    proposed_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    proposed_at: Mapped[Moment]
    signature_id: Mapped[str] = mapped_column(String(32))
    settled_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    settled_at: Mapped[MaybeMoment]
    is_confirmed: Mapped[bool | None]
    settled_reason: Mapped[str | None] = mapped_column(String(2000))
    second_signature_id: Mapped[str | None] = mapped_column(String(32))


class StandingEvent(Record):
    """A suspension, withdrawal, pause or restriction, with who, why and from when to when; never changed.

    `competency` None concerns the whole person.
    """

    __tablename__ = "standing_event"
    __table_args__ = (CheckConstraint("recorded_by <> person_id", name="never_oneself"),)

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    kind: Mapped[Code]
    competency: Mapped[str | None] = mapped_column(String(64))
    from_day: Mapped[date] = mapped_column(Date)
    until_day: Mapped[date | None] = mapped_column(Date)
    reason: Mapped[Prose]
    recorded_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_at: Mapped[Moment]


class StandingEnd(Record):
    """Somebody ended a suspension, withdrawal, pause or restriction before its day, with who, why and when."""

    __tablename__ = "standing_end"
    __table_args__ = (
        CheckConstraint("recorded_by <> person_id", name="never_oneself"),
        CheckConstraint("second_by IS NULL OR (second_by <> person_id AND second_by <> recorded_by)",
                        name="two_people"),
    )  # fmt: skip

    id: Mapped[Id]
    event_id: Mapped[str] = mapped_column(String(32), ForeignKey("standing_event.id", ondelete="RESTRICT"), unique=True)
    person_id: Mapped[PersonId]
    reason: Mapped[Prose]
    recorded_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    second_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_at: Mapped[Moment]


class SigningIntent(Record):
    """What a person was shown before signing: the exact bytes' hash, single use, a few minutes."""

    __tablename__ = "signing_intent"

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    record_type: Mapped[Code]
    shown: Mapped[Prose]
    shown_hash: Mapped[str] = mapped_column(String(64))
    created_at: Mapped[Moment]
    ends_at: Mapped[Moment]
    used_at: Mapped[MaybeMoment]
    signature_id: Mapped[str | None] = mapped_column(String(32))
