"""Fair paths of people in hard cases, the steps recorded on them, and adjustments of sittings, which are kept apart."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class FairPath(Record):
    """One path of one person: newcomer, locum, back from long leave, or not shown twice; closed with an outcome."""

    __tablename__ = "fair_path"
    __table_args__ = (
        CheckConstraint("opened_by <> person_id", name="never_oneself"),
        CheckConstraint("(closed_at IS NULL) = (outcome IS NULL)", name="closed_with_outcome"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    base_id: Mapped[BaseId]
    kind: Mapped[Code]
    about: Mapped[str] = mapped_column(String(200))
    reason: Mapped[Prose]
    until_day: Mapped[date | None] = mapped_column(Date)
    restriction_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("standing_event.id", ondelete="RESTRICT"))
    opened_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    opened_at: Mapped[Moment]
    closed_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    closed_at: Mapped[MaybeMoment]
    outcome: Mapped[str | None] = mapped_column(String(64))
    outcome_words: Mapped[str | None] = mapped_column(String(2000))


class FairPathStep(Record):
    """One step recorded on a path: what, on which day, by whom, and perhaps the person it names; never changed."""

    __tablename__ = "fair_path_step"

    id: Mapped[Id]
    path_id: Mapped[str] = mapped_column(String(32), ForeignKey("fair_path.id", ondelete="RESTRICT"), index=True)
    step: Mapped[Code]
    done_on: Mapped[date] = mapped_column(Date)
    words: Mapped[Prose]
    named_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_at: Mapped[Moment]


class SittingAdjustment(Record):
    """How one person's sittings are adjusted, from a day until another; the reason is nowhere in the tool.

    `extra_time_percent` None means no time limit at all. It never touches the time limits of a procedure.
    """

    __tablename__ = "sitting_adjustment"
    __table_args__ = (
        CheckConstraint("set_by <> person_id", name="never_oneself"),
        CheckConstraint("extra_time_percent IS NULL OR extra_time_percent IN (0, 25, 50, 100)", name="known_share"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    extra_time_percent: Mapped[int | None]
    room: Mapped[Prose]
    from_day: Mapped[date] = mapped_column(Date)
    until_day: Mapped[date | None] = mapped_column(Date)
    set_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    set_at: Mapped[Moment]
    ended_at: Mapped[MaybeMoment]
    ended_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))


class LeaveReturn(Record):
    """The return from one long leave was complete, from that minute on; said by somebody else, never changed."""

    __tablename__ = "leave_return"
    __table_args__ = (CheckConstraint("recorded_by <> person_id", name="never_oneself"),)

    id: Mapped[Id]
    event_id: Mapped[str] = mapped_column(String(32), ForeignKey("standing_event.id", ondelete="RESTRICT"), unique=True)
    person_id: Mapped[PersonId]
    recorded_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_at: Mapped[Moment]


class Departure(Record):
    """A person's time here ended at that minute, and with it the standing; never changed, also when they return."""

    __tablename__ = "departure"
    __table_args__ = (CheckConstraint("recorded_by <> person_id", name="never_oneself"),)

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    last_day: Mapped[date] = mapped_column(Date)
    recorded_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    recorded_at: Mapped[Moment]
