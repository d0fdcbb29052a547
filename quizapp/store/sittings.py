"""Sittings with their frozen questions and every answer ever given to them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Float, ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Json, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class Sitting(Record):
    """One person's run through an assessment, or a practice without consequences (`assessment_id` is empty)."""

    __tablename__ = "sitting"
    __table_args__ = (
        Index(
            "uq_sitting_one_open",
            "assessment_id",
            "person_id",
            unique=True,
            sqlite_where=text("submitted_at IS NULL AND assessment_id IS NOT NULL"),
            postgresql_where=text("submitted_at IS NULL AND assessment_id IS NOT NULL"),
        ),
    )

    id: Mapped[Id]
    assessment_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("assessment.id", ondelete="RESTRICT"), index=True
    )
    person_id: Mapped[PersonId]
    purpose: Mapped[Code]
    seed: Mapped[Code]
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    started_at: Mapped[Moment]
    deadline_at: Mapped[MaybeMoment]
    submitted_at: Mapped[MaybeMoment]
    result: Mapped[Json | None]


class SittingQuestion(Record):
    """One question exactly as it was asked: text, numbers, figure, key, tolerance, wrong ideas.

    `weight_percent`: what its answer weighs in an estimate; less when the family was met before.
    `just_competent_fraction`: the share of just competent people that the author expects to be right, if any was said.
    """

    __tablename__ = "sitting_question"
    __table_args__ = (
        UniqueConstraint("sitting_id", "position"),
        CheckConstraint("weight_percent BETWEEN 1 AND 100", name="weight_in_percent"),
    )

    id: Mapped[Id]
    sitting_id: Mapped[str] = mapped_column(String(32), ForeignKey("sitting.id", ondelete="RESTRICT"), index=True)
    position: Mapped[int]
    family: Mapped[Code] = mapped_column(index=True)
    competency: Mapped[Code]
    content_hash: Mapped[str] = mapped_column(String(64))
    counts_for_sign_off: Mapped[bool]
    weight_percent: Mapped[int]
    just_competent_fraction: Mapped[float | None] = mapped_column(Float)
    option_count: Mapped[int] = mapped_column(default=0)
    frozen: Mapped[Json]


class Answer(Record):
    """One saved answer; a changed mind is a new row with the next revision."""

    __tablename__ = "answer"
    __table_args__ = (
        UniqueConstraint("question_id", "revision"),
        UniqueConstraint("question_id", "act_key"),
        CheckConstraint("revision >= 1", name="revision_from_one"),
    )

    id: Mapped[Id]
    question_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("sitting_question.id", ondelete="RESTRICT"), index=True
    )
    revision: Mapped[int]
    act_key: Mapped[str] = mapped_column(String(64))
    response: Mapped[Json]
    grade: Mapped[Json]
    is_late: Mapped[bool]
    answered_at: Mapped[Moment]
    receipt: Mapped[str] = mapped_column(String(32))
