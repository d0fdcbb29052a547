"""Crews on their shifts, who is on them, what was done about a shift with nobody current, and alerts."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Line, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class CrewShift(Record):
    """One crew on one shift. `confirmed_at`: last in a roster, or last looked at by hand; `known_cover`: last noted."""

    __tablename__ = "crew_shift"
    __table_args__ = (
        CheckConstraint("ends_at > starts_at", name="ends_after_start"),
        Index("ix_crew_shift_base_starts", "base_id", "starts_at"),
        Index("uq_crew_shift_open", "base_id", "crew", "starts_at", unique=True,
              sqlite_where=text("removed_at IS NULL"), postgresql_where=text("removed_at IS NULL")),
    )  # fmt: skip

    id: Mapped[Id]
    base_id: Mapped[str] = mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"))
    crew: Mapped[Line]
    starts_at: Mapped[Moment]
    ends_at: Mapped[Moment]
    confirmed_at: Mapped[Moment]
    confirmed_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    known_cover: Mapped[Code]
    removed_at: Mapped[MaybeMoment]


class ShiftMember(Record):
    """One person on a crew's shift: as what, and in which part of it."""

    __tablename__ = "shift_member"
    __table_args__ = (CheckConstraint("until_at > from_at", name="ends_after_start"),)

    shift_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("crew_shift.id", ondelete="RESTRICT"), primary_key=True
    )
    person_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("person.id", ondelete="RESTRICT"), primary_key=True, index=True
    )
    crew_role: Mapped[Line]
    from_at: Mapped[Moment]
    until_at: Mapped[Moment]


class ShiftAnswer(Record):
    """What somebody did about a shift with nobody current; one is taken back by another row, never changed."""

    __tablename__ = "shift_answer"
    __table_args__ = (
        CheckConstraint("kind NOT IN ('restrict_device', 'accept') OR authority_id IS NOT NULL", name="has_authority"),
        CheckConstraint("kind <> 'restrict_device' OR ends_at IS NOT NULL", name="restriction_ends"),
        CheckConstraint("(kind = 'taken_back') = (takes_back_id IS NOT NULL)", name="takes_one_back"),
    )

    id: Mapped[Id]
    shift_id: Mapped[str] = mapped_column(String(32), ForeignKey("crew_shift.id", ondelete="RESTRICT"), index=True)
    kind: Mapped[Code]
    person_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    other_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    authority_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    ends_at: Mapped[MaybeMoment]
    reason: Mapped[Prose]
    recorded_by: Mapped[PersonId]
    recorded_at: Mapped[Moment]
    takes_back_id: Mapped[str | None] = mapped_column(
        String(32), ForeignKey("shift_answer.id", ondelete="RESTRICT"), unique=True
    )


class ShiftAlert(Record):
    """A shift that had somebody current was found to have nobody; what caused it, and when it was noted."""

    __tablename__ = "shift_alert"

    id: Mapped[Id]
    shift_id: Mapped[str] = mapped_column(String(32), ForeignKey("crew_shift.id", ondelete="RESTRICT"), index=True)
    base_id: Mapped[BaseId]
    cause: Mapped[Code]
    found_at: Mapped[Moment]
    found_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
