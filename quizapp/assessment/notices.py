"""Notices by mail: when somebody is reminded, when a failed sending is tried again, and what became of one."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from quizapp.assessment.validity import days_left

REMINDERS_DAYS = (60, 30, 7)
FIRST_WAIT = timedelta(minutes=5)
LONGEST_WAIT = timedelta(hours=12)
MOST_ATTEMPTS = 12
LOST_AFTER = timedelta(minutes=15)
"""A sending that nobody finished within so long is taken as lost on its way; it may have arrived."""


class NoticeKind(StrEnum):
    """What a notice is."""

    MESSAGE = "message"
    REMINDER = "reminder"
    DIGEST = "digest"


class NoticeState(StrEnum):
    """What became of a notice."""

    WAITING = "waiting"
    SENDING = "sending"
    SENT = "sent"
    UNCERTAIN = "uncertain"
    GIVEN_UP = "given_up"

    @property
    def words(self) -> str:
        """As people say it."""
        return {
            "waiting": "waits to be sent", "sending": "is being sent", "sent": "sent", "given_up": "could not be sent",
            "uncertain": "perhaps sent; not sent again, so that nothing arrives twice",
        }[self.value]  # fmt: skip


def reminder_due(last_valid_day: date, today: date) -> int | None:
    """Give which reminder is due: 60, 30 or 7 days before the last valid day, None for none.

    The nearest one counts, so whoever joins late or was not reached for a while gets one and not three.
    """
    left = days_left(last_valid_day, today)
    return next((days for days in sorted(REMINDERS_DAYS) if 0 <= left <= days), None)


def wait_after(attempts: int) -> timedelta:
    """Give how long to wait after so many failures (1 or more): 5 minutes, doubled each time, 12 hours at most."""
    if attempts < 1:
        raise ValueError(f"nothing was attempted: {attempts}")
    doubled: int = 2 ** min(attempts - 1, 20)
    return min(FIRST_WAIT * doubled, LONGEST_WAIT)
