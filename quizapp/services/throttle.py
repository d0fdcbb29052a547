"""Failures in a row make the next try wait: for a name at sign-in, for a password asked again, for a code."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from quizapp.services.passwords import token_hash
from quizapp.store.accounts import SignInThrottle

LONGEST_WAIT = timedelta(minutes=15)
FREE_FAILURES = 2


def throttle_of(session: Session, name: str, now: datetime) -> SignInThrottle:
    """Return the row that counts failures for a name, locked, so that tries at the same moment wait for each other."""
    key = token_hash(name.strip().casefold())
    insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
    first = insert(SignInThrottle).values(name_hash=key, failures=0, next_try_at=now)
    session.execute(first.on_conflict_do_nothing())
    return session.scalars(select(SignInThrottle).where(SignInThrottle.name_hash == key).with_for_update()).one()


def count_failure(throttle: SignInThrottle, now: datetime) -> timedelta | None:
    """Count one more failure; from the third on the next try waits 1, 2, 4 seconds and so on, 15 minutes at most."""
    throttle.failures += 1
    if throttle.failures <= FREE_FAILURES:
        throttle.next_try_at = now
        return None
    wait = min(timedelta(seconds=2 ** min(throttle.failures - FREE_FAILURES - 1, 12)), LONGEST_WAIT)
    throttle.next_try_at = now + wait
    return wait
