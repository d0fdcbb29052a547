"""One person's standing and its changes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.local_times import parse_local_moment
from quizapp.assessment.permissions import Right
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.errors import BadInput
from quizapp.services.change_standing import change_standing
from quizapp.services.end_standing_change import end_standing_change, needs_second, standing_change
from quizapp.services.second_person import SecondPerson
from quizapp.services.standing_history import person_page
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.standing.forms import ChangeStandingForm, EndForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("standing", __name__, template_folder="templates", url_prefix="/standing")
LONGEST = 40


@blueprint.get("/<person_id>")
@policy(right=Right.SEE_OWN_RECORD)
def show(person_id: str) -> Any:
    """Show how a person stands now, or stood at the minute asked for."""
    asked, error, at = request.args.get("at", "").strip()[:LONGEST], "", None
    if asked:
        try:
            at = _minute(asked)
        except BadInput as fault:
            error = str(fault)
    page = person_page(act(), edge().library, person_id, at=at)
    status = 422 if error else 200
    return render_template("standing/show.html", page=page, asked=asked, error=error), status


def _minute(asked: str) -> datetime:
    """Read what the browser's own entry sends (2026-03-14T19:00), or the same written by hand."""
    at = parse_local_moment(asked, edge().service.zone, field="at")
    if at > act().now:
        raise BadInput("That minute is still to come. Standing is told up to now.", field="at")
    return at


@blueprint.get("/<person_id>/change")
@policy(right=Right.SEE_PERSON)
def change_form(person_id: str) -> Any:
    """Ask what changes."""
    return _change_page(person_id, ChangeStandingForm(from_day=act().today))


def _change_page(person_id: str, form: ChangeStandingForm) -> str:
    page = person_page(act(), edge().library, person_id)
    return render_template("standing/change.html", page=page, form=_with_competencies(form))


def _with_competencies(form: ChangeStandingForm) -> ChangeStandingForm:
    known = edge().library.competencies
    codes = sorted(known, key=lambda code: (len(code), code))
    form.competency.choices = [
        ("", "The whole person"),
        *((code, f"Only {code} {known[code].title}") for code in codes),
    ]
    return form


@blueprint.post("/<person_id>/change")
@policy(right=Right.SEE_PERSON, reauthenticates=True)
def change(person_id: str) -> Any:
    """Record it."""
    form = _with_competencies(ChangeStandingForm())
    person_page(act(), edge().library, person_id)
    if not form.validate():
        return _change_page(person_id, form), 422
    try:
        do_once(lambda: change_standing(act(), person_id, form.change()))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _change_page(person_id, form), 422
    return redirect(url_for("standing.show", person_id=person_id), code=303)


@blueprint.get("/end/<event_id>")
@policy(right=Right.SEE_PERSON)
def end_form(event_id: str) -> Any:
    """Ask why it is over."""
    return _end_page(event_id, EndForm())


def _end_page(event_id: str, form: EndForm) -> str:
    row, person = standing_change(act(), event_id)
    kind = StandingEventKind(row.kind)
    return render_template(
        "standing/end.html", row=row, person=person, kind=kind, form=form, needs_second=needs_second(kind)
    )  # fmt: skip


@blueprint.post("/end/<event_id>")
@policy(right=Right.SEE_PERSON, reauthenticates=True)
def end(event_id: str) -> Any:
    """End it from this minute on."""
    form, (_row, person) = EndForm(), standing_change(act(), event_id)
    if not form.validate():
        return _end_page(event_id, form), 422
    second = SecondPerson(sign_in_name=form.second_name.data or "", password=form.second_password.data or "")
    try:
        do_once(lambda: end_standing_change(act(), event_id, reason=form.reason.data or "", second=second))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _end_page(event_id, form), 422
    return redirect(url_for("standing.show", person_id=person.id), code=303)
