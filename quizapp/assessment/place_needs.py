"""Who needs a place, and by when: told from how people stand and from what has to be watched."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.standing import CompetencyRow, PersonStanding, StandingReport
from quizapp.assessment.validity import days_left

HORIZON_DAYS = 90
AWAY = frozenset({PersonStanding.WITHDRAWN, PersonStanding.SUSPENDED, PersonStanding.PAUSED})


@dataclass(frozen=True, kw_only=True)
class PlaceNeed:
    """That somebody needs a place: the last valid day it should come by (None: never signed off), and for what."""

    due: date | None
    competencies: tuple[str, ...]


def place_need(report: StandingReport, watched: Collection[str]) -> PlaceNeed | None:
    """Give what somebody needs a place for within 90 days of the report's day, None for nothing.

    `watched` are the competencies of which the standard wants something seen or discussed; what only questions show
    needs no place. People who are on leave, suspended or withdrawn need none now.
    """
    if report.standing in AWAY:
        return None
    rows = [row for row in report.rows if row.competency in watched and _is_open(row, report.day)]
    if not rows:
        return None
    never = [row for row in rows if row.last_valid_day is None]
    ends = [row.last_valid_day for row in rows if row.last_valid_day is not None]
    codes = tuple(dict.fromkeys(row.competency for row in rows))
    return PlaceNeed(due=None if never else min(ends), competencies=codes)


def _is_open(row: CompetencyRow, day: date) -> bool:
    if row.last_valid_day is None or not row.standing.is_in_date:
        return True
    return days_left(row.last_valid_day, day) <= HORIZON_DAYS
