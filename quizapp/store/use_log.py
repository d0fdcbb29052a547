"""The log of real use: exposure of a clinician to the device, never evidence, and nothing about a patient."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Date
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record


class UseLogged(Record):
    """One real use as its clinician logged it; taken back, its words are emptied and it no longer counts."""

    __tablename__ = "use_logged"

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    base_id: Mapped[BaseId]
    used_on: Mapped[date] = mapped_column(Date)
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    setting: Mapped[Code]
    duration: Mapped[Code]
    outcome: Mapped[Code]
    faults: Mapped[Json]
    note: Mapped[Prose]
    logged_at: Mapped[Moment]
    taken_back_at: Mapped[MaybeMoment]
