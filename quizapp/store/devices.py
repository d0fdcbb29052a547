"""Which device profile revisions a base has in service, from when to when."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class DeviceInService(Record):
    """One profile revision in the packs of one base, first and last day included; when each of them was recorded."""

    __tablename__ = "device_in_service"
    __table_args__ = (
        CheckConstraint("until_day IS NULL OR until_day >= from_day", name="ends_after_start"),
        Index(
            "uq_device_in_service_open",
            "base_id",
            "profile_code",
            "profile_revision",
            unique=True,
            sqlite_where=text("until_day IS NULL"),
            postgresql_where=text("until_day IS NULL"),
        ),
    )

    id: Mapped[Id]
    base_id: Mapped[BaseId]
    profile_code: Mapped[Code]
    profile_revision: Mapped[int]
    from_day: Mapped[date] = mapped_column(Date)
    until_day: Mapped[date | None] = mapped_column(Date)
    recorded_by: Mapped[PersonId]
    recorded_at: Mapped[Moment]
    taken_out_at: Mapped[MaybeMoment]
