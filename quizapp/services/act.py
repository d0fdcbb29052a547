"""What every service takes first: the open session, who acts, when, and where chance comes from.

Services never commit; the edge that opened the session commits once.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor


class Randomness(Protocol):
    """Where ids, seeds and secrets come from; tests and the demo give a seeded one."""

    def new_id(self) -> str:
        """Return a new opaque id of 32 lower-case hex digits."""
        ...

    def seed(self) -> str:
        """Return a new seed of 64 lower-case hex digits."""
        ...

    def secret(self) -> str:
        """Return a new secret of at least 128 bits, safe in a URL."""
        ...


class SystemRandomness:
    """The operating system's own source of chance."""

    def new_id(self) -> str:
        """Return 32 hex digits."""
        return secrets.token_hex(16)

    def seed(self) -> str:
        """Return 64 hex digits."""
        return secrets.token_hex(32)

    def secret(self) -> str:
        """Return 43 characters."""
        return secrets.token_urlsafe(32)


@dataclass(frozen=True, kw_only=True)
class Act:
    """One act of one person: an open session, the actor, the moment (aware UTC), chance, and the service's zone."""

    session: Session
    actor: Actor
    now: datetime
    randomness: Randomness
    zone: ZoneInfo

    @property
    def today(self) -> date:
        """The civil day of the act in the service's time zone."""
        return self.now.astimezone(self.zone).date()
