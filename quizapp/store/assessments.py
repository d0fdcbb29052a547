"""What an educator composes and whom it is assigned to."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Line, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Assessment(Record):
    """A composed assessment; it cannot be changed once somebody has begun it."""

    __tablename__ = "assessment"
    __table_args__ = (
        CheckConstraint("cut >= 1", name="cut_at_least_one"),
        CheckConstraint("time_allowance_min IS NULL OR time_allowance_min >= 1", name="allowance_positive"),
    )

    id: Mapped[Id]
    title: Mapped[Line]
    cut: Mapped[int]
    cut_reason: Mapped[Prose]
    time_allowance_min: Mapped[int | None]
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    composed_by: Mapped[PersonId]
    composed_at: Mapped[Moment]
    closed_at: Mapped[MaybeMoment]


class AssessmentPart(Record):
    """How many questions an assessment asks on one competency."""

    __tablename__ = "assessment_part"
    __table_args__ = (
        UniqueConstraint("assessment_id", "competency"),
        CheckConstraint("question_count >= 1", name="at_least_one"),
    )

    id: Mapped[Id]
    assessment_id: Mapped[str] = mapped_column(String(32), ForeignKey("assessment.id", ondelete="RESTRICT"), index=True)
    competency: Mapped[Code]
    question_count: Mapped[int]
    minimum_right: Mapped[int | None]


class Assignment(Record):
    """One assessment given to one person."""

    __tablename__ = "assignment"
    __table_args__ = (UniqueConstraint("assessment_id", "person_id"),)

    id: Mapped[Id]
    assessment_id: Mapped[str] = mapped_column(String(32), ForeignKey("assessment.id", ondelete="RESTRICT"), index=True)
    person_id: Mapped[PersonId]
    base_id: Mapped[BaseId]
    due_on: Mapped[date | None] = mapped_column(Date)
    assigned_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    assigned_at: Mapped[Moment]
