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
    granted_at: Mapped[Moment]
    ended_at: Mapped[MaybeMoment]
