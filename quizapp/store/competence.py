"""The estimate of competence: newest states, forecasts stored before their outcomes, and what was fitted to these."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, Float, ForeignKey, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, MaybeMoment, Moment, PersonId
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


class CompetenceFit(Record):
    """What the outcomes of this service made of the published numbers of one track, and how it was judged.

    Fitted on one half of the people, judged on the other (`…_before` and `…_after`). In force from `put_in_force_at`
    until `taken_out_at`; never by itself.
    """

    __tablename__ = "competence_fit"
    __table_args__ = (
        UniqueConstraint("number"),
        CheckConstraint("half_life_factor > 0 AND long_run_variance > 0 AND slope > 0", name="numbers_make_sense"),
        CheckConstraint("taken_out_at IS NULL OR put_in_force_at IS NOT NULL", name="out_after_in"),
    )

    id: Mapped[Id]
    number: Mapped[int]
    track: Mapped[Code]
    model_version: Mapped[int]
    half_life_factor: Mapped[float] = mapped_column(Float)
    long_run_variance: Mapped[float] = mapped_column(Float)
    taught_target: Mapped[float] = mapped_column(Float)
    intercept: Mapped[float] = mapped_column(Float)
    slope: Mapped[float] = mapped_column(Float)
    outcome_count: Mapped[int]
    not_shown_count: Mapped[int]
    judged_count: Mapped[int]
    brier_before: Mapped[float] = mapped_column(Float)
    brier_after: Mapped[float] = mapped_column(Float)
    log_loss_before: Mapped[float] = mapped_column(Float)
    log_loss_after: Mapped[float] = mapped_column(Float)
    fitted_at: Mapped[Moment]
    put_in_force_at: Mapped[MaybeMoment]
    taken_out_at: Mapped[MaybeMoment]
