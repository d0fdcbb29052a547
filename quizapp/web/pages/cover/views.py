"""The calendar of crews, and one shift with what can be done about it."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import render_template, request, url_for

from quizapp.assessment.dates import parse_day
from quizapp.assessment.permissions import Right, has_right
from quizapp.services.base_readiness import bases_seen
from quizapp.services.shift_covers import ShiftSeen, shift_seen, shifts_of_bases
from quizapp.services.ways_out import Ways, ways_out
from quizapp.store.people import RescueBase
from quizapp.web.edge import act, edge
from quizapp.web.pages.cover.blueprint import blueprint
from quizapp.web.pages.cover.calendar_page import (
    DAYS_SHOWN,
    hours,
    shift_finding,
    shown_answer,
    shown_calendar,
    shown_members,
    when,
)
from quizapp.web.policy import policy

MOST_BASES = 4


@blueprint.get("")
@policy(right=Right.SEE_READINESS)
def show() -> Any:
    """Show fourteen days of crews at one's bases, from today or another day on."""
    first_day = _first_day()
    last_day = date.fromordinal(first_day.toordinal() + DAYS_SHOWN - 1)
    every, chosen = _bases()
    ids = [base.id for base in chosen]
    shifts = shifts_of_bases(act(), edge().library, ids, first_day=first_day, last_day=last_day)
    return render_template(
        "cover/show.html",
        page=shown_calendar(shifts, chosen, first_day, act().today, act().zone),
        bases=every,
        chosen=chosen,
        first_day=first_day,
        last_day=last_day,
        earlier=date.fromordinal(first_day.toordinal() - DAYS_SHOWN),
        later=date.fromordinal(first_day.toordinal() + DAYS_SHOWN),
        may_plan=_may_plan_somewhere(chosen),
    )


def _first_day() -> date:
    asked = request.args.get("from", "")
    return parse_day(asked, field="from") if asked else act().today


def _bases() -> tuple[list[RescueBase], list[RescueBase]]:
    """Return one's bases, and those shown at once: the one asked for, or the first few."""
    every = bases_seen(act())
    asked = request.args.get("base", "")
    one = [base for base in every if base.id == asked]
    return every, one or (every if len(every) <= MOST_BASES else every[:1])


def _may_plan_somewhere(bases: list[RescueBase]) -> bool:
    return any(has_right(act().actor, Right.PLAN_CREWS, act().today, base.id) for base in bases)


@blueprint.get("/shift/<shift_id>")
@policy(right=Right.SEE_READINESS)
def shift(shift_id: str) -> Any:
    """Show one shift: how it is covered, the ways out in their order, the crew, and what was done."""
    seen = shift_seen(act(), edge().library, shift_id)
    may_plan = has_right(act().actor, Right.PLAN_CREWS, act().today, seen.base.id) and seen.span.end > act().now
    ways = ways_out(act(), edge().library, seen) if seen.situation.cover.gaps and may_plan else None
    return render_template(
        "cover/shift.html",
        shift=seen,
        finding=shift_finding(seen, act().zone),
        when=when(seen.span, act().zone),
        hours=hours(seen.span, act().zone),
        members=shown_members(seen, act().zone),
        answers=[shown_answer(one) for one in seen.answers],
        ways=_ways(seen, ways) if ways else [],
        may_plan=may_plan,
    )


def _ways(shift: ShiftSeen, ways: Ways) -> list[dict[str, str]]:
    """Return the ways in the order to try them, each with what it would take."""
    names = [one.name for one in ways.substitutes[:3]]
    more = len(ways.substitutes) - len(names)
    free = f"{', '.join(names)}{f' and {more} more' if more > 0 else ''}"
    swap = {"words": "Swap one of the crew", "note": f"Current and free then: {free}."}
    if not shift.members:
        swap = {"words": "Put somebody on the crew", "note": swap["note"]}
    if not names:
        swap["note"] = "Nobody else of this base is current and free for the whole shift."
    else:
        target = "cover.swap_form" if shift.members else "cover.change_form"
        swap |= {
            "href": url_for(target, shift_id=shift.id),
            "act": "Swap, 1 min" if shift.members else "Change the crew",
        }
    return [
        swap,
        _assessor_way(shift, ways),
        {"words": "Restrict the device", "note": "Bag, or another ventilator, until a time; on somebody's authority.",
         "href": url_for("cover.restrict_form", shift_id=shift.id), "act": "Restrict"},
        {"words": "Accept it", "note": "With a named authority, a written reason and your password.",
         "href": url_for("cover.accept_form", shift_id=shift.id), "act": "Accept"},
    ]  # fmt: skip


def _assessor_way(shift: ShiftSeen, ways: Ways) -> dict[str, str]:
    nearest = min((one for one in ways.needs if one.procedures), key=lambda one: one.minutes, default=None)
    way = {"words": "Bring an assessor before the shift"}
    if shift.span.start <= act().now:
        return way | {"note": "The shift has begun."}
    if nearest is None or not any(one.person_id != nearest.person_id for one in ways.assessors):
        return way | {"note": "Nobody on this crew is short of an observation only, or no assessor here is current."}
    also = f"; {nearest.why_not}" if nearest.why_not else ""
    note = f"{nearest.name}: {', '.join(nearest.procedures)} watched, about {nearest.minutes} min{also}."
    return way | {"note": note, "href": url_for("cover.assessor_form", shift_id=shift.id), "act": "Bring one"}
