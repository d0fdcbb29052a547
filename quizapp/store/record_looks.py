"""Who looked at whose record, when, about which minute and for what stated purpose; never changed."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class RecordLook(Record):
    """One look of one person at the record of another; `asked_about` is the minute whose standing was asked."""

    __tablename__ = "record_look"
    __table_args__ = (CheckConstraint("looked_by <> person_id", name="never_oneself"),)

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    looked_by: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)
    kind: Mapped[Code]
    asked_about: Mapped[MaybeMoment]
    purpose: Mapped[Prose]
    looked_at: Mapped[Moment]
