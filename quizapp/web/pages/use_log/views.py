"""Logging a real use, one's own list, and the educator's counts."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import BadInput
from quizapp.services.log_use import devices_to_log, log_use, my_uses, take_use_back, use_counts
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.use_log.forms import UseForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("use_log", __name__, template_folder="templates", url_prefix="/real-use")


@blueprint.get("")
@policy(right=Right.LOG_USE)
def show() -> Any:
    """List one's own entries."""
    return render_template(
        "use_log/show.html",
        uses=my_uses(act()),
        logged=request.args.get("logged", "") == "1",
        may_count=has_right(act().actor, Right.SEE_STATISTICS, act().today),
        form=ActForm(),
    )


@blueprint.get("/new")
@policy(right=Right.LOG_USE)
def new() -> Any:
    """Show the empty form, with today and the device in the pack already chosen."""
    form = _form()
    form.used_on.data = act().today
    code, revision = devices_to_log(act(), edge().library)[0]
    form.device.data = f"{code} {revision}"
    return render_template("use_log/new.html", form=form)


@blueprint.post("/new")
@policy(right=Right.LOG_USE)
def log() -> Any:
    """Log it."""
    form = _form()
    if form.validate():
        try:
            do_once(lambda: log_use(act(), edge().library, form.entered()))
            return redirect(url_for("use_log.show", logged=1), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="note")
    return render_template("use_log/new.html", form=form), 422


def _form() -> UseForm:
    form = UseForm()
    form.device.choices = [
        (f"{code} {revision}", f"{code} revision {revision}")
        for code, revision in devices_to_log(act(), edge().library)
    ]
    return form


@blueprint.post("/<use_id>/take-back")
@policy(right=Right.LOG_USE)
def take_back(use_id: str) -> Any:
    """Take one's own entry back."""
    form = ActForm()
    if form.validate():
        do_once(lambda: take_use_back(act(), use_id=use_id))
    return redirect(url_for("use_log.show"), code=303)


@blueprint.get("/counts")
@policy(right=Right.SEE_STATISTICS)
def counts() -> Any:
    """Show what was logged in a year, without names."""
    return render_template("use_log/counts.html", counts=use_counts(act()))
