"""The list of observations, opening a sheet, the sheet itself, and the taps on it."""

from __future__ import annotations

from typing import Any

from flask import jsonify, redirect, render_template, request, url_for
from flask_wtf.csrf import generate_csrf

from quizapp.assessment.observation_event_json import event_to_json
from quizapp.assessment.observation_events import EventKind
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.double_observations import doubles_seen
from quizapp.services.late_marks import late_marks
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.observations_of import my_sheets, to_counter_sign
from quizapp.services.open_observation import people_to_observe
from quizapp.services.record_observation_events import record_observation_events
from quizapp.services.report_device_fault import faults_of_sheet
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.kept_on_device import device_owner
from quizapp.web.pages.observe import card_views, double_views, ending_views, other_views, taps
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.forms import FaultForm, LockForm
from quizapp.web.pages.observe.sheet_page import script_data, sheet_rows, undo_of, watch_of
from quizapp.web.policy import policy

__all__ = ["blueprint", "card_views", "double_views", "ending_views", "other_views"]


@blueprint.get("/observe")
@policy(right=Right.OBSERVE)
def index() -> Any:
    """Show the assessor's open sheets, those to sign, and those done."""
    lines = my_sheets(act())
    return render_template(
        "observe/index.html",
        open_sheets=[line for line in lines if line.locked_at is None and not line.void_reason],
        discarded=[line for line in lines if line.void_reason],
        doubles=[line for line in doubles_seen(act()) if not line.is_settled],
        late_count=sum(one.outcome is None for one in late_marks(act())),
        to_sign=[line for line in lines if line.locked_at and not line.is_signed],
        signed=[line for line in lines if line.is_signed],
        to_counter_sign=to_counter_sign(act()),
    )


@blueprint.get("/observe/new")
@policy(right=Right.OBSERVE)
def choose() -> Any:
    """Choose a person and a procedure."""
    return render_template(
        "observe/choose.html",
        people=[(person.id, f"{person.name}, {person.profession}") for person in people_to_observe(act())],
        procedures=[(one.code, f"{one.code} {one.title}") for one in edge().library.procedures.values()],
        chosen_procedure=request.args.get("procedure", ""),
    )


@blueprint.get("/observe/<observation_id>")
@policy(right=Right.OBSERVE)
def sheet(observation_id: str) -> Any:
    """Show the sheet; `open` and `note` name the step whose row or note entry stands open without scripts."""
    found = own_sheet(act(), observation_id)
    if found.locked_at is not None or found.voided_at is not None:
        return redirect(url_for("observe.result", observation_id=observation_id), code=303)
    return _sheet(observation_id)


@blueprint.post("/observe/<observation_id>/tap")
@policy(right=Right.OBSERVE)
def tap(observation_id: str) -> Any:
    """Take one button of the sheet as a plain form."""
    form = ActForm()
    form.validate()
    step = request.form.get("step", "")
    try:
        pressed = taps.read_tap(request.form)
        if pressed is None:
            return redirect(
                url_for("observe.sheet", observation_id=observation_id, note=step, _anchor="note"), code=303
            )
        taps.store(act(), observation_id, str(form.act_key.data), pressed)
    except BadInput as problem:
        if problem.field != "text":
            raise
        return _sheet(observation_id, note_problem=str(problem)), 422
    if pressed.kind is EventKind.STOP or request.form.get("back") == "finish":
        return redirect(url_for("observe.finish", observation_id=observation_id), code=303)
    anchor = f"step-{step}" if step else None
    return redirect(url_for("observe.sheet", observation_id=observation_id, _anchor=anchor), code=303)


def _sheet(observation_id: str, *, note_problem: str = "") -> str:
    found = own_sheet(act(), observation_id)
    fault = FaultForm(formdata=None)
    other_views.offer_steps(fault, found)
    return render_template(
        "observe/sheet.html",
        sheet=found,
        rows=sheet_rows(found),
        watch=watch_of(found, act().now),
        undo=undo_of(found),
        data=script_data(found),
        opened=request.args.get("open", ""),
        note_step=request.form.get("step", request.args.get("note", "")),
        note_text=request.form.get("text", ""),
        note_problem=note_problem,
        faults=faults_of_sheet(act(), found.id),
        form=ActForm(),
        end=LockForm(formdata=None),
        fault=fault,
    )


@blueprint.get("/observe/<observation_id>/events")
@policy(right=Right.OBSERVE)
def events(observation_id: str) -> Any:
    """Give the sheet's script every tap stored, and a fresh key for sending more."""
    found = own_sheet(act(), observation_id)
    return jsonify(
        csrf_token=generate_csrf(),
        owner=device_owner(),
        now=act().now.isoformat(),
        events=[event_to_json(event) for event in found.events],
        locked=found.locked_at is not None,
    )


@blueprint.post("/observe/<observation_id>/events")
@policy(right=Right.OBSERVE)
def take_events(observation_id: str) -> Any:
    """Store taps made on the device; the answer says what became of each."""
    sent = request.get_json(silent=True)
    if not isinstance(sent, dict) or not isinstance(sent.get("events"), list):
        raise BadInput("These marks could not be read. Nothing was stored; they are kept on the device.")
    outcomes = record_observation_events(act(), observation_id=observation_id, sent=sent["events"])
    return jsonify(
        outcomes=[{"event_id": one.event_id, "taken": one.taken.value, "message": one.message} for one in outcomes]
    )
