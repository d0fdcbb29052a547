"""What an answer weighs in an estimate when its family was met before: half, for what is remembered is not known."""

from __future__ import annotations

from datetime import datetime, timedelta

FULL_WEIGHT_PERCENT = 100
SECOND_WEIGHT_PERCENT = 50
REMEMBERED_FOR = timedelta(days=30)


def weight_percent(now: datetime, last_met_at: datetime | None) -> int:
    """Return 100 for a first exposure, 50 for one within 30 days of the last (or within the same sitting).

    now, last_met_at: aware times. Policy, no source.
    """
    if last_met_at is None or now - last_met_at > REMEMBERED_FOR:
        return FULL_WEIGHT_PERCENT
    return SECOND_WEIGHT_PERCENT
