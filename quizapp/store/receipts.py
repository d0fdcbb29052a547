"""Receipts of acts already done, so that the same act sent twice has one effect and the same answer."""

from __future__ import annotations

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Json, Moment
from quizapp.store.model import Record


class ActReceipt(Record):
    """The outcome of one act, found again by the key its form carried."""

    __tablename__ = "act_receipt"

    act_key: Mapped[str] = mapped_column(String(64), primary_key=True)
    person_id: Mapped[str] = mapped_column(String(32), primary_key=True)
    route: Mapped[str] = mapped_column(String(128), primary_key=True)
    body_hash: Mapped[str] = mapped_column(String(64))
    outcome: Mapped[Json]
    done_at: Mapped[Moment]
