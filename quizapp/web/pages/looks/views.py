"""Asking how somebody stood at a minute, and reading who looked at one's own record."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from wtforms import SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.local_times import parse_local_moment
from quizapp.assessment.permissions import Right
from quizapp.assessment.record_looks import LONGEST_PURPOSE
from quizapp.errors import BadInput
from quizapp.services.record_looks import LookAtMe, looks_at_me
from quizapp.services.standing_then import ask_standing, people_to_ask, standing_then
from quizapp.web.day_field import DayField
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, at_most, do_once
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("looks", __name__, template_folder="templates", url_prefix="/looks")


class AskForm(ActForm):
    """Who, at which minute, and for what."""

    person = SelectField("Person", validators=[InputRequired("Choose a person.")])
    day = DayField("Day", validators=[InputRequired("Give the day, such as 2026-03-14.")])
    time = StringField("Time", validators=[InputRequired("Give the time, such as 19:00."), at_most(20)])
    purpose = TextAreaField("For what", validators=[InputRequired("Say for what."), at_most(LONGEST_PURPOSE)])

    def minute(self) -> datetime:
        """Return the minute of a valid form; raises BadInput for one the clock skips or has twice."""
        text = f"{self.day.required_day().isoformat()} {(self.time.data or '').strip()}"
        return parse_local_moment(text, edge().service.zone, field="time")


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def mine() -> Any:
    """Show who looked at one's own record."""
    found = looks_at_me(act())
    return render_template("looks/mine.html", looks=found, finding=finding_of(found))


def finding_of(found: tuple[LookAtMe, ...]) -> str:
    """Say how many looks there were."""
    if not found:
        return "Nobody has looked at your record."
    people = len({one.who for one in found})
    times = "once" if len(found) == 1 else f"{len(found)} times"
    return f"{'1 person' if people == 1 else f'{people} people'} looked at your record, {times} in all."


@blueprint.get("/ask")
@policy(right=Right.SEE_READINESS)
def ask_form() -> Any:
    """Ask who, when and for what."""
    local = act().now.astimezone(edge().service.zone)
    form = AskForm(person=request.args.get("person", ""), day=local.date(), time=f"{local:%H:%M}")
    return render_template("looks/ask.html", form=_with_people(form))


def _with_people(form: AskForm) -> AskForm:
    form.person.choices = [
        (one.person_id, f"{one.name}, {one.base_name}, {one.staff_number}") for one in people_to_ask(act())
    ]
    return form


@blueprint.post("/ask")
@policy(right=Right.SEE_READINESS)
def ask() -> Any:
    """Write the question down and lead to its answer."""
    form = _with_people(AskForm())
    if form.validate():
        try:
            at, purpose = form.minute(), form.purpose.data or ""
            look_id = do_once(lambda: ask_standing(act(), person_id=form.person.data, at=at, purpose=purpose))
            return redirect(url_for("looks.show", look_id=look_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="purpose")
    return render_template("looks/ask.html", form=form), 422


@blueprint.get("/<look_id>")
@policy(right=Right.SEE_READINESS)
def show(look_id: str) -> Any:
    """Show the answer to one's own question."""
    return render_template("looks/show.html", page=standing_then(act(), edge().library, look_id))
