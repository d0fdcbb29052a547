"""A plan of places: worked out in one act, one place moved and its effect seen, then published."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import day_in_words
from quizapp.assessment.place_fallbacks import PlanFigures, fallback_places, figures_of, why_not_there
from quizapp.assessment.place_mends import Unmet, unmet_of
from quizapp.assessment.places import PersonDue, Placement, PlacesPlan, as_planned, plan_places
from quizapp.content.library import Library
from quizapp.errors import Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record, record_many
from quizapp.services.hold_place import new_place
from quizapp.services.messages import ToTell, tell
from quizapp.services.plan_inputs import PlanInputs, plan_inputs
from quizapp.services.seats import locked_days, locked_people, upcoming_day
from quizapp.store.places import Place, PlacePlan, SessionDay


@dataclass(frozen=True, kw_only=True)
class PlanShown:
    """A plan with everything around it as it is now: what it rests on, who is left out and why, what it comes to.

    `gone` are people of the plan who need no place any more, `impossible` those whose place cannot be had any more,
    with the reason. `digest` names exactly the places shown.
    """

    plan_id: str
    made_at: datetime
    published_at: datetime | None
    inputs: PlanInputs
    plan: PlacesPlan
    fallbacks: tuple[Placement, ...]
    unmet: tuple[Unmet, ...]
    without_fallback: PlanFigures
    figures: PlanFigures
    impossible: Mapping[str, str]
    gone: int
    digest: str


def propose_plan(act: Act, library: Library, base_ids: Collection[str] = ()) -> str:
    """Work out who gets which place at some bases (all of the actor's when empty) and return the plan's id.

    Nothing is booked and nobody is told until it is published; a plan of the actor's not published yet is replaced.
    """
    inputs = plan_inputs(act, library, base_ids)
    plan = plan_places(inputs.people, inputs.offers, act.today)
    mine = (PlacePlan.made_by == act.actor.person_id, PlacePlan.published_at.is_(None))
    act.session.execute(delete(PlacePlan).where(*mine))
    chosen = {one.person_id: one.session_id for one in plan.placements}
    row = PlacePlan(
        id=act.randomness.new_id(),
        made_by=act.actor.person_id,
        made_at=act.now,
        changed_at=act.now,
        body={"bases": sorted(base.id for base in inputs.bases), "chosen": chosen},
    )
    act.session.add(row)
    record(act, AuditEvent.PLACES_PLANNED, "place_plan", row.id, thing="worked out", after={"places": len(chosen)})
    return row.id


def draft_of(act: Act) -> PlacePlan | None:
    """Return the actor's plan that is not published yet, if there is one."""
    return act.session.scalar(
        select(PlacePlan)
        .where(PlacePlan.made_by == act.actor.person_id, PlacePlan.published_at.is_(None))
        .order_by(PlacePlan.made_at.desc())
        .limit(1)
    )


def plan_shown(act: Act, library: Library, plan_id: str) -> PlanShown:
    """Return one of the actor's own plans with everything around it; raises NotFound for any other."""
    row = _own(act, plan_id)
    inputs = plan_inputs(act, library, row.body["bases"])
    return _shown(act, row, inputs, row.body["chosen"])


def _own(act: Act, plan_id: str) -> PlacePlan:
    row = act.session.get(PlacePlan, plan_id)
    if row is None or row.made_by != act.actor.person_id:
        raise NotFound("There is no such plan of yours.")
    return row


def _shown(act: Act, row: PlacePlan, inputs: PlanInputs, chosen: Mapping[str, str]) -> PlanShown:
    people, offers = inputs.people, inputs.offers
    plan = as_planned(people, chosen, offers, act.today)
    fallbacks = fallback_places(people, plan.placements, offers, act.today)
    both = [
        [one.person_id, one.session_id, place]
        for place, part in enumerate((plan.placements, fallbacks))
        for one in part
    ]
    return PlanShown(
        plan_id=row.id,
        made_at=row.made_at,
        published_at=row.published_at,
        inputs=inputs,
        plan=plan,
        fallbacks=fallbacks,
        unmet=unmet_of(plan, people, offers, act.today),
        without_fallback=figures_of(people, plan.placements, (), offers),
        figures=figures_of(people, plan.placements, fallbacks, offers),
        impossible=_impossible(inputs, plan),
        gone=len(set(chosen) - {one.person_id for one in people}),
        digest=hashlib.sha256(json.dumps(both).encode()).hexdigest()[:16],
    )


def _impossible(inputs: PlanInputs, plan: PlacesPlan) -> dict[str, str]:
    """Say whose place cannot be had any more: seats are given out in the order in which people are due."""
    offers = {one.session_id: one for one in inputs.offers}
    people = {one.person_id: one for one in inputs.people}
    taken: dict[str, int] = {}
    found = {}
    for one in plan.placements:
        if why := why_not_there(people[one.person_id], offers[one.session_id], taken):
            found[one.person_id] = why
        taken[one.session_id] = taken.get(one.session_id, 0) + 1
    return found


@dataclass(frozen=True, kw_only=True)
class MoveShown:
    """What moving one person would come to: each day with why it cannot be (""), and the figures before and after."""

    person: PersonDue
    now_on: str
    why_not: Mapping[str, str]
    before: PlanFigures
    after: PlanFigures | None
    becomes_late: bool


def move_shown(act: Act, library: Library, plan_id: str, person_id: str, to_day_id: str | None) -> MoveShown:
    """Return the effect of moving one person of a plan to a day ("" takes them out, None only lists the days)."""
    row = _own(act, plan_id)
    inputs = plan_inputs(act, library, row.body["bases"])
    person = next((one for one in inputs.people if one.person_id == person_id), None)
    if person is None:
        raise NotFound("There is no such person in this plan.")
    chosen = row.body["chosen"]
    why_not = _why_not(inputs, chosen, person)
    before, after, late = _shown(act, row, inputs, chosen).figures, None, False
    if to_day_id is not None and (to_day_id == "" or to_day_id in why_not):
        changed = _shown(act, row, inputs, _with(chosen, person_id, to_day_id))
        after, late = changed.figures, person_id in {one.person_id for one in changed.plan.late}
    return MoveShown(
        person=person, now_on=chosen.get(person_id, ""), why_not=why_not, before=before, after=after, becomes_late=late
    )


def _with(chosen: Mapping[str, str], person_id: str, to_day_id: str) -> dict[str, str]:
    rest = {who: day for who, day in chosen.items() if who != person_id}
    return {**rest, person_id: to_day_id} if to_day_id else rest


def _why_not(inputs: PlanInputs, chosen: Mapping[str, str], person: PersonDue) -> dict[str, str]:
    waiting = {one.person_id for one in inputs.people}
    taken: dict[str, int] = {}
    for who, day in chosen.items():
        if who in waiting and who != person.person_id:
            taken[day] = taken.get(day, 0) + 1
    return {one.session_id: why_not_there(person, one, taken) for one in inputs.offers}


def move_in_plan(act: Act, library: Library, plan_id: str, person_id: str, to_day_id: str) -> None:
    """Save a move of one person in a plan not published yet; raises Conflict where the day cannot be had."""
    row = _own(act, plan_id)
    if row.published_at is not None:
        raise Conflict("This plan is published. Nothing was changed. Move the place itself.")
    shown = move_shown(act, library, plan_id, person_id, to_day_id)
    if to_day_id and shown.why_not.get(to_day_id, "There is no such day."):
        raise Conflict(f"{shown.why_not.get(to_day_id, 'There is no such day.')} Nothing was changed.")
    row.body = {**row.body, "chosen": _with(row.body["chosen"], person_id, to_day_id)}
    row.changed_at = act.now
    record(act, AuditEvent.PLACES_PLANNED, "place_plan", row.id, person_id=person_id, thing="one place moved",
           after={"session_day": to_day_id or None})  # fmt: skip


def publish_plan(act: Act, library: Library, plan_id: str, *, digest: str) -> int:
    """Book every place of a plan exactly as it was shown, tell its people, and return how many places it has.

    Raises Conflict, and books nothing, where anything changed since it was shown or a seat is gone.
    """
    row = _own(act, plan_id)
    if row.published_at is not None:
        raise Conflict("This plan was published before. Nothing was changed.")
    seen = plan_shown(act, library, plan_id)
    locked_people(act, row.body["chosen"])
    days = locked_days(act, {one.session_id for one in (*seen.plan.placements, *seen.fallbacks)})
    shown = plan_shown(act, library, plan_id)
    if shown.digest != digest or shown.impossible:
        raise Conflict("Something changed since this plan was shown. Nothing was booked. Look at it again.")
    booked = [
        (_booked(act, days.get(one.session_id), one, is_fallback=is_fallback), is_fallback)
        for part, is_fallback in ((shown.plan.placements, False), (shown.fallbacks, True))
        for one in part
    ]
    row.published_at, row.published_by, row.changed_at = act.now, act.actor.person_id, act.now
    tell(act, [_told(place, days[place.session_day_id], shown, is_fallback) for place, is_fallback in booked])
    record_many(act, [_entry(place, days[place.session_day_id]) for place, _ in booked])
    record(act, AuditEvent.PLACES_PUBLISHED, "place_plan", row.id, thing=f"{len(booked)} places",
           after={"places": len(booked)})  # fmt: skip
    return len(booked)


def _booked(act: Act, day: SessionDay | None, one: Placement, *, is_fallback: bool) -> Place:
    return new_place(act, upcoming_day(act, day), one.person_id, is_fallback=is_fallback)


def _told(place: Place, day: SessionDay, shown: PlanShown, is_fallback: bool) -> ToTell:
    when = f"{day_in_words(day.held_on)}, {day.starts_at} to {day.ends_at}, {shown.inputs.base_names[day.base_id]}"
    said = f"You have a place on {when}."
    if is_fallback:
        said = f"In case you miss your place, a second one is kept for you on {when}."
    return ToTell(person_id=place.person_id, about="place", about_id=place.id, text=said)


def _entry(place: Place, day: SessionDay) -> Entry:
    return Entry(
        event=AuditEvent.PLACE_BOOKED,
        object_type="place",
        object_id=place.id,
        person_id=place.person_id,
        thing=day.held_on.isoformat(),
        after={"session_day": day.id, "seat": place.seat},
    )
