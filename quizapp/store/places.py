"""Session days with their assessors and the bases they reach, the places on them, plans, and calendar addresses."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, Line, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record

OPEN = text("ended_at IS NULL")


class SessionDay(Record):
    """A day of observation or teaching at a base. `starts_at` and `ends_at` are local times such as 09:00.

    `takes_bookings`: people may take a free place themselves. `sequence` counts its changes for calendars.
    """

    __tablename__ = "session_day"
    __table_args__ = (
        CheckConstraint("capacity >= 1", name="has_a_place"),
        CheckConstraint("ends_at > starts_at", name="ends_after_start"),
        CheckConstraint("(cancelled_at IS NULL) = (cancelled_by IS NULL)", name="cancelled_by_somebody"),
    )

    id: Mapped[Id]
    base_id: Mapped[BaseId]
    held_on: Mapped[date] = mapped_column(Date, index=True)
    starts_at: Mapped[str] = mapped_column(String(5))
    ends_at: Mapped[str] = mapped_column(String(5))
    about: Mapped[Line]
    capacity: Mapped[int]
    takes_bookings: Mapped[bool]
    created_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    created_at: Mapped[Moment]
    changed_at: Mapped[Moment]
    sequence: Mapped[int]
    cancelled_at: Mapped[MaybeMoment]
    cancelled_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    cancel_reason: Mapped[str | None] = mapped_column(String(500))


class SessionDayAssessor(Record):
    """Somebody who watches on a session day."""

    __tablename__ = "session_day_assessor"

    session_day_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("session_day.id", ondelete="RESTRICT"), primary_key=True
    )
    person_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), primary_key=True)


class SessionDayReach(Record):
    """A base whose people can reach a session day."""

    __tablename__ = "session_day_reach"

    session_day_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("session_day.id", ondelete="RESTRICT"), primary_key=True
    )
    base_id: Mapped[str] = mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"), primary_key=True)


class Place(Record):
    """One seat of one person on a session day; no seat is held twice, and nobody holds two on one day.

    `is_fallback`: kept in case the first place is missed. `sequence` counts its changes for calendars.
    """

    __tablename__ = "place"
    __table_args__ = (
        CheckConstraint("seat >= 1", name="seat_counts_from_one"),
        CheckConstraint("(ended_at IS NULL) = (ended_by IS NULL)", name="ended_by_somebody"),
        CheckConstraint("(attendance IS NULL) = (attendance_by IS NULL)", name="attendance_by_somebody"),
        CheckConstraint("attendance_by IS NULL OR attendance_by <> person_id", name="never_oneself"),
        Index("uq_place_seat", "session_day_id", "seat", unique=True, sqlite_where=OPEN, postgresql_where=OPEN),
        Index("uq_place_person", "session_day_id", "person_id", unique=True, sqlite_where=OPEN, postgresql_where=OPEN),
    )

    id: Mapped[Id]
    session_day_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("session_day.id", ondelete="RESTRICT"), index=True
    )
    person_id: Mapped[PersonId]
    seat: Mapped[int]
    is_fallback: Mapped[bool]
    booked_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    booked_at: Mapped[Moment]
    changed_at: Mapped[Moment]
    sequence: Mapped[int]
    ended_at: Mapped[MaybeMoment]
    ended_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    end_reason: Mapped[str | None] = mapped_column(String(500))
    attendance: Mapped[str | None] = mapped_column(String(64))
    attendance_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    attendance_at: Mapped[MaybeMoment]


class PlacePlan(Record):
    """A plan that was worked out and not yet, or already, published; no seat is taken by it until then."""

    __tablename__ = "place_plan"

    id: Mapped[Id]
    made_by: Mapped[PersonId]
    made_at: Mapped[Moment]
    changed_at: Mapped[Moment]
    body: Mapped[Json]
    published_at: Mapped[MaybeMoment]
    published_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))


class CalendarFeed(Record):
    """A secret address at which a calendar program reads one person's places, or the session days of a base.

    Only the hash of the secret is kept; it ends when its person ends it or makes a new one.
    """

    __tablename__ = "calendar_feed"
    __table_args__ = (Index("ix_calendar_feed_person", "person_id", "base_id"),)

    id: Mapped[Id]
    person_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    base_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"))
    kind: Mapped[Code]
    secret_hash: Mapped[str] = mapped_column(String(64), unique=True)
    made_at: Mapped[Moment]
    ended_at: Mapped[MaybeMoment]
