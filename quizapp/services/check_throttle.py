"""Slows down whoever checks codes: guesses from one address wait longer and longer, and looks at one are limited."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import func, select
from sqlalchemy.dialects import postgresql, sqlite

from quizapp.errors import TooSoon
from quizapp.services.act import Act
from quizapp.services.passwords import token_hash
from quizapp.store.accounts import SignInThrottle
from quizapp.store.take_aways import TakeAwayLook

FREE_MISSES = 5
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(minutes=30)
LOOKS_AN_HOUR = 30


def slow_down(act: Act, *, address: str, has_missed: bool = False, take_away_id: str = "") -> None:
    """Raise TooSoon while an address has to wait, or where one take-away was looked at too often within an hour.

    `has_missed` counts one more code that is none; from the sixth on the next try waits 1, 2, 4 seconds and so on.
    Only a hash of the address is kept.
    """
    row = _row(act, address)
    if row.next_try_at > act.now:
        raise TooSoon(wait_s=max(1, round((row.next_try_at - act.now).total_seconds())))
    if has_missed:
        _count(act, row)
    if take_away_id and _looks(act, take_away_id) >= LOOKS_AN_HOUR:
        raise TooSoon(wait_s=600)


def _count(act: Act, row: SignInThrottle) -> None:
    if act.now - row.next_try_at > FORGOTTEN_AFTER:
        row.failures = 0
    row.failures += 1
    beyond = row.failures - FREE_MISSES
    wait = min(timedelta(seconds=2 ** min(beyond - 1, 12)), LONGEST_WAIT) if beyond > 0 else timedelta()
    row.next_try_at = act.now + wait


def _row(act: Act, address: str) -> SignInThrottle:
    """Return the row that counts misses of an address, locked, so that tries at one moment wait for each other."""
    key = token_hash(f"check of taken evidence from {address}")
    insert = postgresql.insert if act.session.get_bind().dialect.name == "postgresql" else sqlite.insert
    first = insert(SignInThrottle).values(name_hash=key, failures=0, next_try_at=act.now)
    act.session.execute(first.on_conflict_do_nothing())
    return act.session.scalars(select(SignInThrottle).where(SignInThrottle.name_hash == key).with_for_update()).one()


def _looks(act: Act, take_away_id: str) -> int:
    since = act.now - timedelta(hours=1)
    wanted = select(func.count()).where(TakeAwayLook.take_away_id == take_away_id, TakeAwayLook.looked_at > since)
    return act.session.scalar(wanted) or 0
