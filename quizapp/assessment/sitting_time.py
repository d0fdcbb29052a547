"""How long a person's sitting may take: the allowance of the assessment, and the person's own adjustment of it.

For sittings only. The time limits of a procedure are clinical: a patient waits no longer for anybody.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import IntEnum


class ExtraTime(IntEnum):
    """How much more time than the allowance, in percent of it."""

    NONE = 0
    QUARTER = 25
    HALF = 50
    DOUBLE = 100


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """One adjustment from a day until another, both inclusive (None: open). `extra_time` None: no limit at all."""

    extra_time: ExtraTime | None
    from_day: date
    until_day: date | None = None

    def holds_on(self, day: date) -> bool:
        """Whether it holds on a civil day of the service's zone."""
        return self.from_day <= day and (self.until_day is None or day <= self.until_day)


def time_for(allowance_min: int | None, adjustments: Iterable[Adjustment], day: date) -> timedelta | None:
    """Return how long a sitting begun on `day` may take; None means without a limit.

    `allowance_min` is the assessment's own, in minutes (None: no limit). Of several adjustments the widest holds.
    """
    holding = [one for one in adjustments if one.holds_on(day)]
    if allowance_min is None or any(one.extra_time is None for one in holding):
        return None
    percent = max((one.extra_time for one in holding if one.extra_time is not None), default=ExtraTime.NONE)
    return timedelta(minutes=allowance_min) * (100 + int(percent)) / 100
