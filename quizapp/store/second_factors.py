"""What a person shows beside the password: a shared secret, sealed, and recovery codes as hashes."""

from __future__ import annotations

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Id, MaybeMoment, Moment
from quizapp.store.model import Record


class SecondFactor(Record):
    """One account's secret; it counts once a code made with it was shown.

    `last_step` is the last span of 30 seconds whose code was taken: a code works once. `sealed_seed` is where the
    recovery codes come from while they are shown, and empty afterwards.
    """

    __tablename__ = "second_factor"

    id: Mapped[Id]
    account_id: Mapped[str] = mapped_column(String(32), ForeignKey("account.id", ondelete="RESTRICT"), index=True)
    sealed_secret: Mapped[str] = mapped_column(Text)
    sealed_seed: Mapped[str] = mapped_column(Text)
    begun_at: Mapped[Moment]
    confirmed_at: Mapped[MaybeMoment]
    last_step: Mapped[int]


class RecoveryCode(Record):
    """A code for the day the telephone is at the bottom of a lake; works once."""

    __tablename__ = "recovery_code"

    id: Mapped[Id]
    account_id: Mapped[str] = mapped_column(String(32), ForeignKey("account.id", ondelete="RESTRICT"), index=True)
    code_hash: Mapped[str] = mapped_column(String(64))
    made_at: Mapped[Moment]
    used_at: Mapped[MaybeMoment]
