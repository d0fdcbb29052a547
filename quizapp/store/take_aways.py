"""Evidence that a person took away: what it states, its check code, that it was revoked, and each look at it."""

from __future__ import annotations

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Moment, PersonId, Prose
from quizapp.store.model import Record


class TakeAway(Record):
    """One statement of a person's own evidence, exact to the byte, found again by its check code."""

    __tablename__ = "take_away"

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    code: Mapped[str] = mapped_column(String(16), unique=True)
    statement: Mapped[Prose]
    statement_hash: Mapped[str] = mapped_column(String(64), unique=True)
    made_at: Mapped[Moment]


class TakeAwayRevocation(Record):
    """The person revoked it: from then on its code says nothing but that."""

    __tablename__ = "take_away_revocation"

    take_away_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("take_away.id", ondelete="RESTRICT"), primary_key=True
    )
    revoked_at: Mapped[Moment]


class TakeAwayLook(Record):
    """Somebody without an account checked it: when, how (code or file) and what they were told."""

    __tablename__ = "take_away_look"

    id: Mapped[Id]
    take_away_id: Mapped[str] = mapped_column(String(32), ForeignKey("take_away.id", ondelete="RESTRICT"), index=True)
    how: Mapped[Code]
    told: Mapped[Code]
    looked_at: Mapped[Moment]
