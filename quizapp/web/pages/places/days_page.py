"""What the pages of session days show, laid out for their templates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.dates import day_in_words
from quizapp.services.session_day_lists import DayLine, DayShown


@dataclass(frozen=True, kw_only=True)
class DaysPage:
    """The finding, then the days to come and those gone by."""

    finding: str
    coming: list[DayLine]
    over: list[DayLine]


def listed(lines: Sequence[DayLine], today: date) -> DaysPage:
    """Lay out session days: those to come, soonest first, then what is over or cancelled."""
    coming = [one for one in lines if one.around.day.held_on >= today and one.around.day.cancelled_at is None]
    over = [one for one in lines if one not in coming]
    return DaysPage(finding=_finding(coming), coming=coming, over=over[::-1])


def _finding(coming: Sequence[DayLine]) -> str:
    if not coming:
        return "No session day is to come."
    free = sum(max(one.around.free, 0) for one in coming)
    days = "1 session day is" if len(coming) == 1 else f"{len(coming)} session days are"
    return f"{days} to come, with {free} free {'place' if free == 1 else 'places'}."


def day_finding(page: DayShown) -> str:
    """Say in one sentence how full a day is or was."""
    day, taken = page.line.around.day, page.line.around.taken
    when = day_in_words(day.held_on)
    if day.cancelled_at is not None:
        return f"The session day on {when} was cancelled."
    verb = "was" if page.is_over else "is"
    if taken == 0:
        return f"No place {verb} taken on {when}."
    if day.capacity == 1:
        return f"The only place {verb} taken on {when}."
    if taken > 1:
        verb = "were" if page.is_over else "are"
    return f"{taken} of {day.capacity} places {verb} taken on {when}."


def day_choices(page: DayShown) -> list[tuple[str, str]]:
    """Give the other days with a free place, as choices."""
    return [(one.around.day.id, day_words(one)) for one in page.others]


def day_words(line: DayLine) -> str:
    """Say a day in a few words."""
    day = line.around.day
    return f"{day_in_words(day.held_on)}, {line.base_name}, {line.around.free} free"
