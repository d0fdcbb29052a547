"""Roles held per base and for a time, each granted by somebody for a reason."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class RoleGrant(Record):
    """A role of one person at one base (or the whole service), from a day until a day, both included."""

    __tablename__ = "role_grant"
    __table_args__ = (
        CheckConstraint("granted_by IS NULL OR granted_by <> person_id", name="not_to_oneself"),
        CheckConstraint("second_by IS NULL OR second_by <> person_id", name="second_not_oneself"),
        CheckConstraint("second_by IS NULL OR second_by <> granted_by", name="two_different_people"),
        CheckConstraint("until_day IS NULL OR until_day >= from_day", name="ends_after_start"),
        CheckConstraint("(ended_at IS NULL) = (ended_on IS NULL)", name="ended_with_its_day"),
        # Nobody granted what the founding command gave; but for a clinician, everything else has two names.
        CheckConstraint("granted_by IS NULL OR second_by IS NOT NULL OR role = 'clinician'", name="two_people"),
        CheckConstraint("recognised = FALSE OR until_day IS NOT NULL", name="recognised_ends"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    role: Mapped[Code]
    base_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"), index=True)
    from_day: Mapped[date] = mapped_column(Date)
    until_day: Mapped[date | None] = mapped_column(Date)
    granted_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    second_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    reason: Mapped[Prose]
    recognised: Mapped[bool] = mapped_column(default=False)
    granted_at: Mapped[Moment]
    ended_at: Mapped[MaybeMoment]
    ended_on: Mapped[date | None] = mapped_column(Date)
    ended_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))


class RoleProposal(Record):
    """A role that one administrator proposed and a second one confirms or declines."""

    __tablename__ = "role_proposal"
    __table_args__ = (
        CheckConstraint("proposed_by <> person_id", name="not_for_oneself"),
        CheckConstraint("settled_by IS NULL OR settled_by <> person_id", name="not_settled_by_oneself"),
        CheckConstraint("grant_id IS NULL OR settled_by <> proposed_by", name="two_different_people"),
        CheckConstraint("(settled_at IS NULL) = (settled_by IS NULL)", name="settled_by_somebody"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    role: Mapped[Code]
    base_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"))
    from_day: Mapped[date] = mapped_column(Date)
    until_day: Mapped[date | None] = mapped_column(Date)
    recognised: Mapped[bool]
    reason: Mapped[Prose]
    proposed_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    proposed_at: Mapped[Moment]
    settled_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    settled_at: Mapped[MaybeMoment]
    grant_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("role_grant.id", ondelete="RESTRICT"), unique=True
    )
