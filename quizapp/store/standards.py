"""The standard for the year: what is required for each competency, who agreed and why."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Json, Line, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class Standard(Record):
    """One version of the standard, in force from a day until the next version starts; never changed.

    A form counts only where it asks at least `form_questions` and its cut is at least `form_cut` of so many (0: no
    rule of its own).
    """

    __tablename__ = "standard"
    __table_args__ = (CheckConstraint("form_cut >= 0 AND form_cut <= form_questions", name="cut_within_the_form"),)

    id: Mapped[Id]
    version: Mapped[int] = mapped_column(unique=True)
    name: Mapped[Line]
    starts_on: Mapped[date] = mapped_column(Date)
    reason: Mapped[Prose]
    agreed_by: Mapped[Prose]
    form_questions: Mapped[int] = mapped_column(default=0)
    form_cut: Mapped[int] = mapped_column(default=0)
    recorded_by: Mapped[PersonId]
    recorded_at: Mapped[Moment]
    signature_id: Mapped[str | None] = mapped_column(String(32))


class StandardRequirement(Record):
    """What one standard asks for one competency.

    `renew_by`: sign-offs given before this version began end on that day at the latest; without it they keep theirs.
    """

    __tablename__ = "standard_requirement"
    __table_args__ = (UniqueConstraint("standard_id", "competency"),)

    id: Mapped[Id]
    standard_id: Mapped[str] = mapped_column(String(32), ForeignKey("standard.id", ondelete="RESTRICT"), index=True)
    competency: Mapped[Code]
    is_critical: Mapped[bool]
    validity_months: Mapped[int]
    practice_months: Mapped[int]
    evidence_months: Mapped[int]
    needs_knowledge: Mapped[bool]
    minimum_questions: Mapped[int] = mapped_column(default=1)
    procedures: Mapped[Json]
    observed_here: Mapped[Json]
    needs_discussion: Mapped[bool] = mapped_column(default=False)
    minimum_assessors: Mapped[int] = mapped_column(default=1)
    renew_by: Mapped[date | None] = mapped_column(Date)


class StandardDraft(Record):
    """The next version while educators write it; one at a time, closed when it is put in force or dropped."""

    __tablename__ = "standard_draft"
    __table_args__ = (
        CheckConstraint("open_slot IS NULL OR open_slot = 1", name="one_slot"),
        CheckConstraint("(open_slot IS NULL) = (closed_at IS NOT NULL)", name="open_or_closed"),
    )

    id: Mapped[Id]
    open_slot: Mapped[int | None] = mapped_column(unique=True)
    based_on_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("standard.id", ondelete="RESTRICT"))
    terms: Mapped[Json]
    revision: Mapped[int]
    begun_by: Mapped[PersonId]
    begun_at: Mapped[Moment]
    changed_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    changed_at: Mapped[Moment]
    closed_at: Mapped[MaybeMoment]
