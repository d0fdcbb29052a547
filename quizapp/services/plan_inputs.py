"""What a plan of places is worked out from: who needs one and by when, and which session days have seats."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.place_fallbacks import come_fraction
from quizapp.assessment.place_needs import HORIZON_DAYS, PlaceNeed, place_need
from quizapp.assessment.places import PersonDue, SessionOffer
from quizapp.assessment.standing import StandingReport
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotFound
from quizapp.services.act import Act
from quizapp.services.calendars import hours
from quizapp.services.clinicians import clinicians
from quizapp.services.person_standing import standings
from quizapp.services.require_right import require_right
from quizapp.services.seats import DayAround, attended, days_around, open_places
from quizapp.services.standards import standard_on
from quizapp.store.people import Person, RescueBase
from quizapp.store.places import SessionDay
from quizapp.store.shifts import CrewShift, ShiftMember

PASS_FRACTION = 0.9
"""How often what is shown on a day is enough: an assumption of ours, said beside every figure that rests on it."""
MOST_PEOPLE = 500
REST = timedelta(hours=8)


@dataclass(frozen=True, kw_only=True)
class PlanInputs:
    """Everything a plan rests on, people and days by id."""

    bases: tuple[RescueBase, ...]
    people: tuple[PersonDue, ...]
    offers: tuple[SessionOffer, ...]
    persons: dict[str, Person]
    needs: dict[str, PlaceNeed]
    days: dict[str, DayAround]
    base_names: dict[str, str]
    holding: int


def bases_planned(act: Act) -> list[RescueBase]:
    """Return the bases for which the actor plans places, by name."""
    require_right(act, Right.PLAN_PLACES)
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name, RescueBase.id))
    return [base for base in rows if has_right(act.actor, Right.PLAN_PLACES, act.today, base.id)]


def plan_inputs(act: Act, library: Library, base_ids: Collection[str]) -> PlanInputs:
    """Gather who needs a place at some bases ("all of mine" when empty) and every day that reaches them.

    Raises NotFound for a base the actor does not plan for, BadInput where more than 500 people need a place.
    """
    mine = bases_planned(act)
    chosen = [base for base in mine if not base_ids or base.id in base_ids]
    if not chosen or len(chosen) < len(set(base_ids)):
        raise NotFound("There is no such base of yours.")
    here = {base.id for base in chosen}
    people = [person for person in clinicians(act) if person.base_id in here]
    needs = _needs(act, library, people)
    holding = {
        person_id for person_id, places in open_places(act, needs).items() if any(not p.is_fallback for p in places)
    }
    waiting = [person for person in people if person.id in needs and person.id not in holding]
    if len(waiting) > MOST_PEOPLE:
        raise BadInput(f"{len(waiting)} people need a place; {MOST_PEOPLE} are the most at once. Choose fewer bases.")
    days = _days(act, here)
    names = {base.id: base.name for base in act.session.scalars(select(RescueBase))}
    return PlanInputs(
        bases=tuple(chosen),
        people=_dues(act, waiting, needs, away_days(act, [person.id for person in waiting], [one.day for one in days])),
        offers=_offers(act, library, days),
        persons={person.id: person for person in people},
        needs=needs,
        days={one.day.id: one for one in days},
        base_names=names,
        holding=len(holding),
    )


def _needs(act: Act, library: Library, people: Sequence[Person]) -> dict[str, PlaceNeed]:
    standard = standard_on(act.session, act.today)
    watched = {one.competency for one in standard.requirements if one.is_watched} if standard else set()
    found = {person_id: place_need(one.report, watched) for person_id, one in standings(act, library, people).items()}
    return {person_id: need for person_id, need in found.items() if need is not None}


def away_days(act: Act, person_ids: Collection[str], days: Sequence[SessionDay]) -> dict[str, frozenset[date]]:
    """Return the session days on which people are on shift, or came off one less than eight hours before it starts.

    The eight hours are ours (common practice, no source).
    """
    spans = [(day.held_on, *hours(act.zone, day)) for day in days]
    if not spans:
        return {}
    rows = act.session.execute(
        select(ShiftMember.person_id, ShiftMember.from_at, ShiftMember.until_at)
        .join(CrewShift, CrewShift.id == ShiftMember.shift_id)
        .where(ShiftMember.person_id.in_(person_ids), CrewShift.removed_at.is_(None))
        .where(ShiftMember.until_at > min(start for _, start, _ in spans) - REST)
        .where(ShiftMember.from_at < max(end for _, _, end in spans))
    )
    found: dict[str, set[date]] = {}
    for person_id, from_at, until_at in rows:
        busy = {held_on for held_on, start, end in spans if from_at < end and until_at > start - REST}
        found.setdefault(person_id, set()).update(busy)
    return {person_id: frozenset(busy) for person_id, busy in found.items()}


def _dues(
    act: Act, people: Sequence[Person], needs: dict[str, PlaceNeed], away: dict[str, frozenset[date]]
) -> tuple[PersonDue, ...]:
    seen = attended(act, [person.id for person in people])
    return tuple(
        PersonDue(
            person_id=person.id,
            base_id=person.base_id,
            due=needs[person.id].due,
            away_on=away.get(person.id, frozenset()),
            come_fraction=come_fraction(*seen.get(person.id, (0, 0))),
            pass_fraction=PASS_FRACTION,
        )
        for person in people
    )


def _days(act: Act, base_ids: Collection[str]) -> list[DayAround]:
    until = act.today + timedelta(days=2 * HORIZON_DAYS)
    rows = act.session.scalars(
        select(SessionDay)
        .where(SessionDay.held_on > act.today, SessionDay.held_on <= until, SessionDay.cancelled_at.is_(None))
        .order_by(SessionDay.held_on, SessionDay.starts_at, SessionDay.id)
    )
    return [one for one in days_around(act, list(rows)) if one.reach_ids & set(base_ids) or one.day.base_id in base_ids]


def _offers(act: Act, library: Library, days: Sequence[DayAround]) -> tuple[SessionOffer, ...]:
    """Give the days as offers; an assessor counts only where still current on the day, since others cannot sign."""
    ids = sorted({person_id for one in days for person_id in one.assessor_ids})
    people = list(act.session.scalars(select(Person).where(Person.id.in_(ids))))
    reports = {person_id: one.report for person_id, one in standings(act, library, people).items()}
    return tuple(
        SessionOffer(
            session_id=one.day.id,
            day=one.day.held_on,
            base_id=one.day.base_id,
            reaches=one.reach_ids,
            free=max(one.free, 0),
            assessor_ids=frozenset(who for who in one.assessor_ids if current_on(reports[who], one.day.held_on)),
        )
        for one in days
    )


def current_on(report: StandingReport, day: date) -> bool:
    """Whether somebody who is current now still is on a day, as far as is known."""
    return report.standing.is_in_date and (report.soonest_end is None or report.soonest_end >= day)
