"""People of the service and the bases they belong to."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Line, Moment
from quizapp.store.model import Record


class RescueBase(Record):
    """A base: the place crews work from, with its own devices in service."""

    __tablename__ = "base"

    id: Mapped[Id]
    code: Mapped[Code] = mapped_column(unique=True)
    name: Mapped[Line]
    setting: Mapped[Line]


class Person(Record):
    """A member of the service; `name` is one free text, printed as it is. `engaged_until`: a locum's last day.

    Staff numbers are unique whatever their case (an index of the migrations that no model can state for SQLite).
    """

    __tablename__ = "person"
    __table_args__ = (CheckConstraint("left_on IS NULL OR left_on >= joined_on", name="leaves_after_joining"),)

    id: Mapped[Id]
    staff_number: Mapped[Code] = mapped_column(unique=True)
    name: Mapped[Line]
    profession: Mapped[Line]
    base_id: Mapped[BaseId]
    email: Mapped[str | None] = mapped_column(String(255))
    joined_on: Mapped[date] = mapped_column(Date)
    left_on: Mapped[date | None] = mapped_column(Date)
    engaged_until: Mapped[date | None] = mapped_column(Date)
    created_at: Mapped[Moment]


class Service(Record):
    """The one row that says whose tool this is and in which time zone days begin."""

    __tablename__ = "service"

    id: Mapped[Id]
    name: Mapped[Line]
    zone: Mapped[Code]
    is_demo: Mapped[bool]
    founded_at: Mapped[Moment]


class FoundingPerson(Record):
    """One of the two administrators who founded the service by command."""

    __tablename__ = "founding_person"

    person_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), primary_key=True)
    founded_at: Mapped[Moment]
