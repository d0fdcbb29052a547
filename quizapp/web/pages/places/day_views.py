"""One session day: who has a place, who came, and one place moved or given up."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.attendance import Attendance
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.hold_place import give_up_place, move_place, planned_place, record_attendance
from quizapp.services.session_day_lists import day_shown
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.places.blueprint import blueprint
from quizapp.web.pages.places.days_page import day_choices, day_finding
from quizapp.web.pages.places.forms import AttendanceForm, CancelForm, MoveForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


@blueprint.get("/days/<day_id>")
@policy(right=Right.SEE_PERSON)
def day(day_id: str) -> Any:
    """Show one session day to who plans for it or watches on it."""
    page = day_shown(act(), day_id)
    return render_template(
        "places/day.html", page=page, finding=day_finding(page), form=ActForm(), attendance=list(Attendance)
    )


@blueprint.post("/places/<place_id>/attendance")
@policy(right=Right.SEE_PERSON)
def attendance(place_id: str) -> Any:
    """Record whether somebody came."""
    form = AttendanceForm()
    if not form.validate():
        raise BadInput("Say whether they came. Nothing was recorded. Go back and choose one of the three.")
    day_id = do_once(lambda: record_attendance(act(), place_id, Attendance(form.attendance.data)))
    return redirect(url_for("places.day", day_id=day_id), code=303)


@blueprint.get("/places/<place_id>/move")
@policy(right=Right.PLAN_PLACES)
def move_form(place_id: str) -> Any:
    """List the days to which a published place can be moved."""
    place, person = planned_place(act(), place_id)
    page = day_shown(act(), place.session_day_id)
    form = MoveForm()
    form.to.choices = day_choices(page)
    return render_template(
        "places/move_place.html", page=page, person=person, place_id=place_id, form=form, cancel=CancelForm()
    )


@blueprint.post("/places/<place_id>/move")
@policy(right=Right.PLAN_PLACES)
def move(place_id: str) -> Any:
    """Move a published place; its person is told."""
    to = request.form.get("to", "")
    do_once(lambda: move_place(act(), place_id, to))
    return redirect(url_for("places.day", day_id=to), code=303)


@blueprint.post("/places/<place_id>/give-up")
@policy(right=Right.PLAN_PLACES)
def give_up(place_id: str) -> Any:
    """Give up a published place; its person is told."""
    place, person = planned_place(act(), place_id)
    page, form, day_id = day_shown(act(), place.session_day_id), CancelForm(), place.session_day_id
    if form.validate():
        try:
            do_once(lambda: give_up_place(act(), place_id, reason=form.reason.data or ""))
            return redirect(url_for("places.day", day_id=day_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    moving = MoveForm()
    moving.to.choices = day_choices(page)
    return render_template(
        "places/move_place.html", page=page, person=person, place_id=place_id, form=moving, cancel=form
    ), 422
