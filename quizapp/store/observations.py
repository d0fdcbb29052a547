"""Observations: what an assessor saw, as events made on the device and the result when the sheet was locked."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Observation(Record):
    """One sheet of one assessor for one person; nobody observes oneself.

    Sheets of assessors who watched the same performance share its `performance_id`. A sheet entered from paper names
    who wrote it over and when it was watched; a sheet opened by mistake is discarded with a reason, and kept.
    Who was not current may have noted, never signed: the database refuses it as well.
    """

    __tablename__ = "observation"
    __table_args__ = (
        CheckConstraint("person_id <> assessor_id", name="never_oneself"),
        CheckConstraint("global_rating IS NULL OR (global_rating BETWEEN 1 AND 5)", name="rating_one_to_five"),
        CheckConstraint("signature_id IS NULL OR locked_at IS NOT NULL", name="locked_before_signed"),
        CheckConstraint("signature_id IS NULL OR voided_at IS NULL", name="discarded_is_never_signed"),
        CheckConstraint("(voided_at IS NULL) = (void_reason IS NULL)", name="discarded_with_reason"),
        CheckConstraint("transcribed_by IS NULL OR transcribed_by <> person_id", name="never_transcribed_by_oneself"),
        CheckConstraint("(transcribed_by IS NULL) = (watched_at IS NULL)", name="transcribed_with_day"),
        CheckConstraint("(signature_id IS NULL) = (signed_by IS NULL)", name="signed_by_somebody"),
        CheckConstraint("signed_by IS NULL OR signed_by <> person_id", name="never_signed_by_oneself"),
        CheckConstraint("signed_by IS NULL OR signer_was_current", name="signed_only_when_current"),
        CheckConstraint(
            "signed_by IS NULL OR assessor_was_current OR signed_by <> assessor_id", name="not_current_may_note_only"
        ),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    assessor_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)
    base_id: Mapped[BaseId]
    procedure: Mapped[Code]
    content_hash: Mapped[str] = mapped_column(String(64))
    counts_for_sign_off: Mapped[bool]
    frozen: Mapped[Json]
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    setting: Mapped[Code]
    presented: Mapped[Json]
    assessor_was_current: Mapped[bool]
    opened_at: Mapped[Moment]
    person_confirmed_at: Mapped[MaybeMoment]
    person_comment: Mapped[str | None] = mapped_column(String(2000))
    locked_at: Mapped[MaybeMoment]
    global_rating: Mapped[int | None]
    result: Mapped[Json | None]
    signature_id: Mapped[str | None] = mapped_column(String(32))
    signed_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    signer_was_current: Mapped[bool] = mapped_column(default=False)
    performance_id: Mapped[str] = mapped_column(String(32), index=True)
    connection: Mapped[str | None] = mapped_column(String(500))
    transcribed_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    watched_at: Mapped[MaybeMoment]
    voided_at: Mapped[MaybeMoment]
    void_reason: Mapped[str | None] = mapped_column(String(500))

    @property
    def happened_at(self) -> datetime:
        """When the person was watched; a sheet from paper was opened later than that."""
        return self.watched_at or self.opened_at


class ObservationEvent(Record):
    """One tap on the sheet; its id is made on the device, so a repeated delivery is the same event."""

    __tablename__ = "observation_event"

    id: Mapped[Id]
    observation_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("observation.id", ondelete="RESTRICT"), index=True
    )
    device_sequence: Mapped[int] = mapped_column(BigInteger)
    kind: Mapped[Code]
    step: Mapped[str | None] = mapped_column(String(8))
    body: Mapped[Json]
    device_at: Mapped[Moment]
    received_at: Mapped[Moment]


class LateEvent(Record):
    """An event that arrived for a sheet already locked; a person decides what becomes of it."""

    __tablename__ = "observation_late_event"

    id: Mapped[Id]
    observation_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("observation.id", ondelete="RESTRICT"), index=True
    )
    body: Mapped[Json]
    reason: Mapped[Prose]
    received_at: Mapped[Moment]
    outcome: Mapped[str | None] = mapped_column(String(64))
    outcome_reason: Mapped[str | None] = mapped_column(String(500))
    decided_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    decided_at: Mapped[MaybeMoment]


class Comparison(Record):
    """What a person decided about two sheets of one performance, and why; one decision for a performance."""

    __tablename__ = "observation_comparison"
    __table_args__ = (UniqueConstraint("performance_id"),)

    id: Mapped[Id]
    performance_id: Mapped[str] = mapped_column(String(32))
    person_id: Mapped[PersonId]
    outcome: Mapped[Code]
    stands_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("observation.id", ondelete="RESTRICT"))
    third_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    reason: Mapped[Prose]
    decided_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    decided_at: Mapped[Moment]


class FaultReport(Record):
    """A device that failed during an observation: which one, what was seen, at which base it was taken out of use."""

    __tablename__ = "device_fault_report"

    id: Mapped[Id]
    observation_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("observation.id", ondelete="RESTRICT"), index=True
    )
    base_id: Mapped[BaseId]
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    lot_number: Mapped[str] = mapped_column(String(64))
    step: Mapped[str | None] = mapped_column(String(8))
    what: Mapped[Prose]
    reported_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    reported_at: Mapped[Moment]
