"""Shifts entered by hand, another crew for one, and a shift taken out of the calendar."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.local_times import parse_local_moment
from quizapp.assessment.permissions import Right
from quizapp.assessment.shift_cover import Span
from quizapp.errors import BadInput
from quizapp.services.crew_people import people_by_number
from quizapp.services.import_crews import bases_planned
from quizapp.services.keep_crews import MemberWanted, ShiftWanted, change_crew, enter_shift, remove_shift
from quizapp.services.shift_covers import ShiftSeen, shift_seen
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.cover.blueprint import blueprint
from quizapp.web.pages.cover.calendar_page import when
from quizapp.web.pages.cover.forms import CrewForm, ShiftForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


def _members(text: str) -> tuple[MemberWanted, ...]:
    """Read the crew, a line a member: staff number, part on the crew, and own hours where they differ."""
    return tuple(_member(line) for line in text.splitlines() if line.strip())


def _member(line: str) -> MemberWanted:
    parts = [part.strip() for part in line.split(",")]
    if len(parts) not in {2, 4} or not all(parts):
        raise BadInput(
            f'"{line.strip()[:60]}" is not staff number, part on the crew (and if wanted from, until).', field="members"
        )
    present = None
    if len(parts) == 4:
        start, end = (parse_local_moment(part, act().zone, field="members") for part in parts[2:])
        present = Span(start, end)
    return MemberWanted(staff_number=parts[0], crew_role=parts[1], present=present)


def _as_text(seen: ShiftSeen) -> str:
    numbers = {one.person_id: one.staff_number for one in people_by_number(act()).values()}
    return "\n".join(
        f"{numbers[one.person_id]}, {one.crew_role}" + ("" if one.present == seen.span else _own_hours(one.present))
        for one in seen.members
    )


def _own_hours(present: Span) -> str:
    zone = act().zone
    return "".join(f", {moment.astimezone(zone):%Y-%m-%d %H:%M}" for moment in (present.start, present.end))


def _people_of(base_ids: set[str]) -> list[tuple[str, str]]:
    """Return who can be on a crew, for the list beside the form."""
    return [
        (one.staff_number, one.name)
        for one in people_by_number(act()).values()
        if not one.reason and one.base_id in base_ids
    ]


def _shift_form(**values: Any) -> ShiftForm:
    form = ShiftForm(**values)
    form.base_id.choices = [(base.id, base.name) for base in bases_planned(act()).values()]
    return form


def _new_page(form: ShiftForm) -> str:
    people = _people_of({base.id for base in bases_planned(act()).values()})
    return render_template("cover/new.html", form=form, people=people)


@blueprint.get("/new")
@policy(right=Right.PLAN_CREWS)
def new() -> Any:
    """Show an empty form; a base may be asked for."""
    return _new_page(_shift_form(base_id=request.args.get("base", "")))


@blueprint.post("/new")
@policy(right=Right.PLAN_CREWS)
def enter() -> Any:
    """Keep the shift."""
    form = _shift_form()
    if form.validate():
        try:
            shift_id = do_once(lambda: enter_shift(act(), edge().library, _wanted(form)))
            return redirect(url_for("cover.shift", shift_id=shift_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="members")
    return _new_page(form), 422


def _wanted(form: ShiftForm) -> ShiftWanted:
    zone = act().zone
    span = Span(
        parse_local_moment(form.starts.data or "", zone, field="starts"),
        parse_local_moment(form.ends.data or "", zone, field="ends"),
    )
    members = _members(form.members.data or "")
    return ShiftWanted(base_id=form.base_id.data, crew=form.crew.data or "", span=span, members=members)


def _change_page(seen: ShiftSeen, form: CrewForm) -> str:
    people = _people_of({seen.base.id})
    return render_template("cover/change.html", shift=seen, when=when(seen.span, act().zone), form=form, people=people)


@blueprint.get("/shift/<shift_id>/change")
@policy(right=Right.PLAN_CREWS)
def change_form(shift_id: str) -> Any:
    """Show the crew to be changed."""
    seen = shift_seen(act(), edge().library, shift_id)
    return _change_page(seen, CrewForm(members=_as_text(seen)))


@blueprint.post("/shift/<shift_id>/change")
@policy(right=Right.PLAN_CREWS)
def change(shift_id: str) -> Any:
    """Put another crew on the shift, or say that this one still holds."""
    seen = shift_seen(act(), edge().library, shift_id)
    form = CrewForm()
    if form.validate():
        try:
            do_once(lambda: change_crew(act(), edge().library, shift_id, _members(form.members.data or "")))
            return redirect(url_for("cover.shift", shift_id=shift_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="members")
    return _change_page(seen, form), 422


@blueprint.get("/shift/<shift_id>/remove")
@policy(right=Right.PLAN_CREWS)
def remove_form(shift_id: str) -> Any:
    """Ask once more."""
    seen = shift_seen(act(), edge().library, shift_id)
    return render_template("cover/remove.html", shift=seen, when=when(seen.span, act().zone), form=ActForm())


@blueprint.post("/shift/<shift_id>/remove")
@policy(right=Right.PLAN_CREWS)
def remove(shift_id: str) -> Any:
    """Take the shift out of the calendar."""
    do_once(lambda: remove_shift(act(), shift_id))
    return redirect(url_for("cover.show"), code=303)
