"""Until when a sign-off holds: the last valid day is inclusive, and the day after it is over without any act.

All days are civil days of the service's time zone, so a change of the clock moves nothing.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta

LAPSING_DAYS = 60
DEFAULT_VALIDITY_MONTHS = 12
LONGEST_VALIDITY_MONTHS = 60


def add_months(day: date, months: int) -> date:
    """Give the same day of the month so many months on, or the last day of that month when it has no such day."""
    years, month_index = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month_index + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def last_valid_day(decision_day: date, months: int = DEFAULT_VALIDITY_MONTHS, *, previous: date | None = None) -> date:
    """Give the last day, inclusive, on which a sign-off decided on `decision_day` holds.

    `months` 1 to 60. `previous` is the last valid day of the sign-off being renewed: decided with at most 60 days
    left, the anniversary is kept and the new validity runs on from it; otherwise it starts on the decision day.
    29 February plus twelve months is 28 February. Raises ValueError outside the range.
    """
    if not 1 <= months <= LONGEST_VALIDITY_MONTHS:
        raise ValueError(f"a sign-off holds 1 to {LONGEST_VALIDITY_MONTHS} months, not {months}")
    if previous is not None and is_lapsing(previous, decision_day):
        return add_months(previous, months)
    return add_months(decision_day, months)


def days_left(last_day: date, today: date) -> int:
    """Give the days from today to the last valid day: 0 on the last day itself, negative once it is over."""
    return (last_day - today).days


def is_valid(last_day: date, today: date) -> bool:
    """Whether a sign-off still holds today."""
    return today <= last_day


def is_lapsing(last_day: date, today: date) -> bool:
    """Whether a sign-off still holds and at most 60 days are left; the same days on which a renewal loses nothing."""
    return 0 <= days_left(last_day, today) <= LAPSING_DAYS


def first_day_of_renewal(last_day: date) -> date:
    """Give the first day on which a renewal keeps the anniversary."""
    return last_day - timedelta(days=LAPSING_DAYS)
