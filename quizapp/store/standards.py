"""The standard for the year: what is required for each competency, who agreed and why."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Date, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Json, Line, Moment, PersonId, Prose
from quizapp.store.model import Record


class Standard(Record):
    """One version of the standard, in force from a day until the next version starts."""

    __tablename__ = "standard"

    id: Mapped[Id]
    version: Mapped[int] = mapped_column(unique=True)
    name: Mapped[Line]
    starts_on: Mapped[date] = mapped_column(Date)
    reason: Mapped[Prose]
    agreed_by: Mapped[Prose]
    recorded_by: Mapped[PersonId]
    recorded_at: Mapped[Moment]


class StandardRequirement(Record):
    """What one standard asks for one competency."""

    __tablename__ = "standard_requirement"
    __table_args__ = (UniqueConstraint("standard_id", "competency"),)

    id: Mapped[Id]
    standard_id: Mapped[str] = mapped_column(String(32), ForeignKey("standard.id", ondelete="RESTRICT"), index=True)
    competency: Mapped[Code]
    is_critical: Mapped[bool]
    validity_months: Mapped[int]
    practice_months: Mapped[int]
    needs_knowledge: Mapped[bool]
    procedures: Mapped[Json]
