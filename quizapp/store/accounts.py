"""Sign-in accounts, revocable sessions and the throttle; secrets only as hashes."""

from __future__ import annotations

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Id, Line, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class Account(Record):
    """One sign-in of one person; without a password until the person sets one by an invitation code."""

    __tablename__ = "account"

    id: Mapped[Id]
    person_id: Mapped[PersonId] = mapped_column(unique=True)
    sign_in_name: Mapped[Line] = mapped_column(unique=True)
    password_hash: Mapped[str | None] = mapped_column(Text)
    is_active: Mapped[bool]
    created_at: Mapped[Moment]
    password_set_at: Mapped[MaybeMoment]


class SessionRow(Record):
    """One signed-in browser; the cookie holds a token of which only the hash is kept.

    `second_factor_at` is when a code beside the password was shown in it.
    """

    __tablename__ = "session"

    id: Mapped[Id]
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    account_id: Mapped[str] = mapped_column(String(32), ForeignKey("account.id", ondelete="RESTRICT"), index=True)
    started_at: Mapped[Moment]
    last_seen_at: Mapped[Moment]
    ends_at: Mapped[Moment]
    ended_at: Mapped[MaybeMoment]
    second_factor_at: Mapped[MaybeMoment]


class SignInThrottle(Record):
    """Failures in a row for one sign-in name, known or not, and when the next try is looked at."""

    __tablename__ = "sign_in_throttle"

    name_hash: Mapped[str] = mapped_column(String(64), primary_key=True)
    failures: Mapped[int]
    next_try_at: Mapped[Moment]


class AccountInvitation(Record):
    """A single-use code by which a person sets a first or a new password."""

    __tablename__ = "account_invitation"

    id: Mapped[Id]
    account_id: Mapped[str] = mapped_column(String(32), ForeignKey("account.id", ondelete="RESTRICT"), index=True)
    code_hash: Mapped[str] = mapped_column(String(64), unique=True)
    started_by: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    created_at: Mapped[Moment]
    ends_at: Mapped[Moment]
    used_at: Mapped[MaybeMoment]
