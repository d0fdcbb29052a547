"""The list of observations, opening a sheet, the sheet itself, and the taps on it."""

from __future__ import annotations

from typing import Any

from flask import jsonify, redirect, render_template, request, url_for
from flask_wtf.csrf import generate_csrf

from quizapp.assessment.observation_event_json import event_to_json
from quizapp.assessment.observation_events import EventKind
from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, NotFound
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.observations_of import my_sheets, to_counter_sign
from quizapp.services.open_observation import (
    Watched,
    devices_for,
    open_observation,
    people_to_observe,
    person_to_observe,
)
from quizapp.services.procedures_in_force import procedure_in_force
from quizapp.services.record_observation_events import record_observation_events
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.observe import ending_views, taps
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.forms import CardForm
from quizapp.web.pages.observe.sheet_page import script_data, sheet_rows, undo_of, watch_of
from quizapp.web.policy import policy

__all__ = ["blueprint", "ending_views"]


@blueprint.get("/observe")
@policy(right=Right.OBSERVE)
def index() -> Any:
    """Show the assessor's open sheets, those to sign, and those done."""
    lines = my_sheets(act())
    return render_template(
        "observe/index.html",
        open_sheets=[line for line in lines if line.locked_at is None],
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


@blueprint.get("/observe/card")
@policy(right=Right.OBSERVE)
def card() -> Any:
    """Settle device, setting and the steps the scenario calls for."""
    form = CardForm(person=request.args.get("person", ""), procedure=request.args.get("procedure", ""))
    return _card(form)


@blueprint.post("/observe/card")
@policy(right=Right.OBSERVE)
def open_sheet() -> Any:
    """Open the sheet and go to it."""
    form = CardForm()
    _offer(form)
    if not form.validate():
        return _card(form), 422
    try:
        observation_id = do_once(lambda: _open(form))
    except BadInput as problem:
        getattr(form, problem.field).errors = [str(problem)]
        return _card(form), 422
    return redirect(url_for("observe.sheet", observation_id=observation_id), code=303)


def _open(form: CardForm) -> str:
    code, _, revision = str(form.device.data).rpartition("-")
    return open_observation(
        act(),
        library=edge().library,
        person_id=str(form.person.data),
        procedure_code=str(form.procedure.data),
        watched=Watched(
            profile_code=code,
            profile_revision=int(revision),
            setting=ObservationSetting(form.setting.data),
            presented=frozenset(form.presented.data or []),
        ),
        is_current=assessor_currency(edge().library),
    )


def _offer(form: CardForm) -> None:
    """Give the form the devices of the person's base and the procedure's conditional steps to choose from."""
    if not form.person.data or not form.procedure.data:
        raise NotFound("Choose a person and a procedure first, then settle the card.")
    person = person_to_observe(act(), form.person.data)
    procedure = procedure_in_force(act(), edge().library, form.procedure.data)
    devices = devices_for(act(), person)
    form.device.choices = [(f"{code}-{revision}", f"{code} revision {revision}") for code, revision in devices]
    steps = [step for step in procedure.steps if step.conditional]
    form.presented.choices = [(step.letter, f"{step.letter}, {step.text}") for step in steps]
    if len(devices) == 1 and form.device.data is None:
        form.device.data = form.device.choices[0][0]


def _card(form: CardForm) -> str:
    _offer(form)
    doing, library = act(), edge().library
    procedure = library.procedure(str(form.procedure.data))
    current = assessor_currency(library)
    return render_template(
        "observe/card.html",
        form=form,
        procedure=procedure,
        person=person_to_observe(doing, str(form.person.data)),
        may_sign=current(doing, person_id=doing.actor.person_id, competencies=procedure.competencies),
    )


@blueprint.get("/observe/<observation_id>")
@policy(right=Right.OBSERVE)
def sheet(observation_id: str) -> Any:
    """Show the sheet; `open` and `note` name the step whose row or note entry stands open without scripts."""
    found = own_sheet(act(), observation_id)
    if found.locked_at is not None:
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
        form=ActForm(),
    )


@blueprint.get("/observe/<observation_id>/events")
@policy(right=Right.OBSERVE)
def events(observation_id: str) -> Any:
    """Give the sheet's script every tap stored, and a fresh key for sending more."""
    found = own_sheet(act(), observation_id)
    return jsonify(
        csrf_token=generate_csrf(),
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
