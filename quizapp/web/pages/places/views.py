"""The list of session days, and one of them opened, changed, cancelled."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.people_list import bases
from quizapp.services.place_plans import draft_of
from quizapp.services.session_day_lists import (
    assessors_to_choose,
    bases_to_hold_at,
    day_shown,
    days_listed,
    days_watched,
)
from quizapp.services.session_days import cancel_session_day, change_session_day, open_session_day
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.places import day_views, plan_views
from quizapp.web.pages.places.blueprint import blueprint
from quizapp.web.pages.places.days_page import listed
from quizapp.web.pages.places.forms import CancelForm, DayForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

__all__ = ["blueprint", "day_views", "plan_views"]


@blueprint.get("")
@policy(right=Right.PLAN_PLACES)
def index() -> Any:
    """List the session days, with the plan that waits to be published."""
    page = listed(days_listed(act()), act().today)
    return render_template("places/index.html", page=page, draft=draft_of(act()), form=ActForm())


@blueprint.get("/watching")
@policy(right=Right.OBSERVE)
def watching() -> Any:
    """List the session days on which one watches."""
    return render_template("places/watching.html", page=listed(days_watched(act()), act().today))


@blueprint.get("/days/new")
@policy(right=Right.PLAN_PLACES)
def new() -> Any:
    """Show an empty form."""
    here = bases_to_hold_at(act())
    form = DayForm(capacity=6, reach_ids=[here[0].id] if here else [])
    return render_template("places/new.html", form=_with_choices(form))


@blueprint.post("/days/new")
@policy(right=Right.PLAN_PLACES)
def add() -> Any:
    """Open a session day."""
    form = _with_choices(DayForm())
    if form.validate():
        try:
            day_id = do_once(lambda: open_session_day(act(), form.wanted(form.base_id.data)))
            return redirect(url_for("places.day", day_id=day_id), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return render_template("places/new.html", form=form), 422


def _with_choices(form: DayForm) -> DayForm:
    form.base_id.choices = [(base.id, base.name) for base in bases_to_hold_at(act())]
    form.reach_ids.choices = [(base.id, base.name) for base in bases(act())]
    form.assessor_ids.choices = [(one.person_id, f"{one.name}, {one.base_name}") for one in assessors_to_choose(act())]
    return form


@blueprint.get("/days/<day_id>/change")
@policy(right=Right.PLAN_PLACES)
def change_form(day_id: str) -> Any:
    """Show the entry to be changed."""
    line = day_shown(act(), day_id).line
    around, day = line.around, line.around.day
    form = DayForm(
        base_id=day.base_id, held_on=day.held_on, starts_at=day.starts_at, ends_at=day.ends_at, about=day.about,
        capacity=day.capacity, assessor_ids=sorted(around.assessor_ids), reach_ids=sorted(around.reach_ids),
        takes_bookings=day.takes_bookings,
    )  # fmt: skip
    return render_template("places/change.html", line=line, form=_with_choices(form))


@blueprint.post("/days/<day_id>/change")
@policy(right=Right.PLAN_PLACES)
def change(day_id: str) -> Any:
    """Change a session day; its base stays."""
    line, form = day_shown(act(), day_id).line, _with_choices(DayForm())
    form.base_id.data = line.around.day.base_id
    if form.validate():
        try:
            do_once(lambda: change_session_day(act(), day_id, form.wanted(line.around.day.base_id)))
            return redirect(url_for("places.day", day_id=day_id), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return render_template("places/change.html", line=line, form=form), 422


@blueprint.get("/days/<day_id>/cancel")
@policy(right=Right.PLAN_PLACES)
def cancel_form(day_id: str) -> Any:
    """Ask why."""
    return render_template("places/cancel.html", page=day_shown(act(), day_id), form=CancelForm())


@blueprint.post("/days/<day_id>/cancel")
@policy(right=Right.PLAN_PLACES)
def cancel(day_id: str) -> Any:
    """Cancel a session day and tell its people."""
    page, form = day_shown(act(), day_id), CancelForm()
    if form.validate():
        try:
            do_once(lambda: cancel_session_day(act(), day_id, reason=form.reason.data or ""))
            return redirect(url_for("places.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return render_template("places/cancel.html", page=page, form=form), 422
