"""Observations: what an assessor saw, as events made on the device and the result when the sheet was locked."""

from __future__ import annotations

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Observation(Record):
    """One sheet of one assessor for one person; nobody observes oneself."""

    __tablename__ = "observation"
    __table_args__ = (
        CheckConstraint("person_id <> assessor_id", name="never_oneself"),
        CheckConstraint("global_rating IS NULL OR (global_rating BETWEEN 1 AND 5)", name="rating_one_to_five"),
        CheckConstraint("signature_id IS NULL OR locked_at IS NOT NULL", name="locked_before_signed"),
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
