"""Everything the lead of a base looks at, in its order: shifts, who lapses, counts, and how the number goes on.

The records of the people are read once; the number of statements does not grow with people or shifts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from quizapp.assessment.readiness import PersonHere, readiness
from quizapp.assessment.readiness_forecast import CountForecast, Future, forecast_counts
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing_ahead import begin_of
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.base_readiness import BaseReadiness, base_seen, clinicians_of
from quizapp.services.booked_places import booked_days
from quizapp.services.person_standing import PersonStands
from quizapp.services.shift_covers import ShiftSeen, members_of_shifts, rows_between, worked_out
from quizapp.services.standings_ahead import StandingsAhead, standings_ahead
from quizapp.store.people import Person

SHIFT_DAYS = 14
TREND_STEP_DAYS = 30
TREND_STEPS = 6


@dataclass(frozen=True, kw_only=True)
class CountThen:
    """How many of the people who belong here today were current on an earlier day, of those who had joined."""

    day: date
    in_date: int
    people: int


@dataclass(frozen=True, kw_only=True)
class BaseOutlook:
    """One base: the shifts of the next 14 days, its people, the trend and the forecast of the number current."""

    here: BaseReadiness
    shifts: tuple[ShiftSeen, ...]
    places: dict[str, tuple[date, ...]]
    trend: tuple[CountThen, ...]
    forecast: CountForecast

    @property
    def open_shifts(self) -> tuple[ShiftSeen, ...]:
        """The shifts on which nobody is current at some minute and nothing was done about it."""
        return tuple(one for one in self.shifts if one.situation.needs_somebody)


def base_outlook(act: Act, library: Library, base_id: str = "") -> BaseOutlook:
    """Return the outlook of a base ("" for the first one of the actor's); raises NotFound for any other."""
    base, bases = base_seen(act, base_id)
    people = clinicians_of(act, base.id)
    rows = rows_between(act, [base.id], act.today, act.today + timedelta(days=SHIFT_DAYS - 1))
    members = members_of_shifts(act, [row.id for row in rows])
    everybody = {one.id: one for one in people}
    everybody |= {person.id: person for pairs in members.values() for _, person in pairs}
    since = act.now - timedelta(days=TREND_STEP_DAYS * TREND_STEPS + 1)
    ahead = standings_ahead(act, library, list(everybody.values()), [base.id], since=since)
    stands = [
        PersonStands(person=one, record=ahead.record_at(one.id, base.id), report=ahead.report(one.id, base.id, act))
        for one in people
    ]
    here = [PersonHere(person_id=one.person.id, name=one.person.name, report=one.report) for one in stands]
    within = Span(since, max([act.now, *(row.ends_at for row in rows)]))
    places = booked_days(act, [one.id for one in people])
    return BaseOutlook(
        here=BaseReadiness(base=base, bases=bases, people=stands, readiness=readiness(here, act.today)),
        shifts=tuple(worked_out(act, rows, members, ahead, within=within)),
        places=places,
        trend=_trend(act, people, base.id, ahead, within),
        forecast=forecast_counts([_future(one, places.get(one.person.id, ())) for one in stands], act.today),
    )


def _future(stands: PersonStands, place_days: tuple[date, ...]) -> Future:
    end = stands.report.soonest_end if stands.report.standing.is_in_date else None
    return Future(last_valid_day=end, place_days=place_days)


def _trend(
    act: Act, people: list[Person], base_id: str, ahead: StandingsAhead, within: Span
) -> tuple[CountThen, ...]:  # fmt: skip
    """Count the current people at noon of earlier days, oldest first, as the record is known today."""
    days = [act.today - timedelta(days=TREND_STEP_DAYS * step) for step in range(TREND_STEPS, 0, -1)]
    spells = {one.id: ahead.spells(one.id, base_id, within) for one in people}
    return tuple(_count_then(day, people, spells, begin_of(day, act.zone) + timedelta(hours=12)) for day in days)


def _count_then(day: date, people: list[Person], spells: dict[str, tuple[Span, ...]], at: datetime) -> CountThen:
    had_joined = [one for one in people if one.joined_on <= day]
    return CountThen(
        day=day,
        in_date=sum(any(spell.start <= at < spell.end for spell in spells[one.id]) for one in had_joined),
        people=len(had_joined),
    )
