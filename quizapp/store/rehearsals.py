"""Rehearsals: a clinician put the shuffled steps of a procedure in order."""

from __future__ import annotations

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Json, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class Rehearsal(Record):
    """One rehearsal with the procedure as it stood, the order shown and the order given."""

    __tablename__ = "rehearsal"

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    procedure: Mapped[Code]
    content_hash: Mapped[str] = mapped_column(String(64))
    frozen: Mapped[Json]
    shown_order: Mapped[Json]
    given_order: Mapped[Json | None]
    result: Mapped[Json | None]
    started_at: Mapped[Moment]
    finished_at: Mapped[MaybeMoment]
    is_timed: Mapped[bool] = mapped_column(default=False)
    first_critical_s: Mapped[int | None]
