"""Recording leave and coming back."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import BadInput
from quizapp.services.leaves import (
    back_from_long_leave,
    begin_leave,
    clock_words,
    end_leave,
    leaves_not_over,
    people_i_plan_for,
)
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.leave.forms import LeaveForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("leave", __name__, template_folder="templates", url_prefix="/leave")


@blueprint.get("")
@policy(right=Right.PAUSE_PERSON)
def index() -> Any:
    """List who is away and who is back."""
    lines = leaves_not_over(act())
    return render_template(
        "leave/index.html",
        lines=[(line, clock_words(line, act().today)) for line in lines],
        away=sum(line.has_begun for line in lines),
        back=back_from_long_leave(act(), edge().library),
        opens_paths=has_right(act().actor, Right.DECIDE, act().today),
        form=ActForm(),
    )


@blueprint.get("/new")
@policy(right=Right.PAUSE_PERSON)
def new() -> Any:
    """Show the empty form."""
    form = _form()
    form.from_day.data = act().today
    return render_template("leave/new.html", form=form)


@blueprint.post("/new")
@policy(right=Right.PAUSE_PERSON)
def begin() -> Any:
    """Record leave."""
    form = _form()
    if form.validate():
        try:
            do_once(
                lambda: begin_leave(
                    act(),
                    person_id=form.person.data,
                    from_day=form.from_day.required_day(),
                    until_day=form.until_day.data,
                    reason=form.reason.data or "",
                )
            )
            return redirect(url_for("leave.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return render_template("leave/new.html", form=form), 422


def _form() -> LeaveForm:
    form = LeaveForm()
    form.person.choices = [(one.id, f"{one.name}, {one.profession}") for one in people_i_plan_for(act())]
    return form


@blueprint.post("/<event_id>/back")
@policy(right=Right.PAUSE_PERSON)
def back(event_id: str) -> Any:
    """Record that somebody is back today."""
    ActForm().validate()
    do_once(lambda: end_leave(act(), event_id=event_id))
    return redirect(url_for("leave.index"), code=303)
