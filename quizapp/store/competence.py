"""The estimate of competence: its newest state, which can be rebuilt, and forecasts stored before their outcomes."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, Float, ForeignKey, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Moment, PersonId
from quizapp.store.model import Record


class CompetenceStateRow(Record):
    """What is believed of one competency of one person on one track after the evidence of `last_day`."""

    __tablename__ = "competence_state"

    person_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), primary_key=True)
    competency: Mapped[str] = mapped_column(String(64), primary_key=True)
    track: Mapped[str] = mapped_column(String(16), primary_key=True)
    mass: Mapped[bytes] = mapped_column(LargeBinary)
    mean: Mapped[float] = mapped_column(Float)
    sd: Mapped[float] = mapped_column(Float)
    last_day: Mapped[date] = mapped_column(Date)
    is_taught: Mapped[bool]
    evidence_count: Mapped[int]
    model_version: Mapped[int]
    updated_at: Mapped[Moment]


class CompetencePrediction(Record):
    """The chance foretold when a sitting or observation began; its outcome is the evidence that came of it.

    `gap_days` since the last evidence, none where there was none.
    """

    __tablename__ = "competence_prediction"
    __table_args__ = (
        UniqueConstraint("source_id", "competency", "track"),
        CheckConstraint("chance_fraction >= 0 AND chance_fraction <= 1", name="chance_is_a_fraction"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    competency: Mapped[Code]
    track: Mapped[Code]
    source_id: Mapped[str] = mapped_column(String(32))
    chance_fraction: Mapped[float] = mapped_column(Float)
    gap_days: Mapped[int | None]
    model_version: Mapped[int]
    predicted_at: Mapped[Moment]
