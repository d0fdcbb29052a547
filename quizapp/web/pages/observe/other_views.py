"""Beside a sheet: discarding it, late marks and what becomes of them, and a device that failed."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.late_mark import LateOutcome
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.discard_observation import discard_observation
from quizapp.services.late_marks import LateLine, decide_late_mark, late_marks
from quizapp.services.observation_sheet import Sheet, own_sheet
from quizapp.services.report_device_fault import faults_reported, report_device_fault
from quizapp.web.edge import act
from quizapp.web.forms import do_once
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.forms import FaultForm, LateForm, ReasonForm
from quizapp.web.pages.observe.sheet_page import event_words
from quizapp.web.policy import policy

CHOICES = {
    LateOutcome.LEFT_OUT: "Left out; the sheet stands as it was locked",
    LateOutcome.TAKEN_IN: "Taken in; the sheet opens again, and both of you look and lock once more",
}


@blueprint.get("/observe/<observation_id>/discard")
@policy(right=Right.OBSERVE)
def show_discard(observation_id: str) -> Any:
    """Ask why a sheet is discarded."""
    return _discard(observation_id, ReasonForm())


@blueprint.post("/observe/<observation_id>/discard")
@policy(right=Right.OBSERVE)
def discard(observation_id: str) -> Any:
    """Discard a sheet that was opened by mistake; it is kept."""
    form = ReasonForm()
    if not form.validate():
        return _discard(observation_id, form), 422
    try:
        do_once(lambda: discard_observation(act(), observation_id=observation_id, reason=form.reason.data or ""))
    except BadInput as problem:
        form.reason.errors = [str(problem)]
        return _discard(observation_id, form), 422
    return redirect(url_for("observe.index"), code=303)


def _discard(observation_id: str, form: ReasonForm) -> str:
    found = own_sheet(act(), observation_id)
    if found.locked_at is not None or found.voided_at is not None:
        raise Conflict("This sheet is locked or discarded already. Nothing was changed.")
    return render_template("observe/discard.html", sheet=found, form=form)


@blueprint.get("/observe/late")
@policy(right=Right.OBSERVE)
def late() -> Any:
    """List the marks that were kept apart, with why, and what was decided."""
    lines = late_marks(act())
    return render_template(
        "observe/late.html",
        waiting=[(one, event_words(one.event)) for one in lines if one.outcome is None],
        decided=[(one, event_words(one.event)) for one in lines if one.outcome is not None],
    )


@blueprint.get("/observe/late/<late_id>")
@policy(right=Right.OBSERVE)
def show_late(late_id: str) -> Any:
    """Show one late mark with the choices there are."""
    return _late(late_id, LateForm())


@blueprint.post("/observe/late/<late_id>")
@policy(right=Right.OBSERVE)
def decide_late(late_id: str) -> Any:
    """Decide on one late mark, with a reason."""
    form = LateForm()
    line = _offer_late(late_id, form)
    if not form.validate():
        return _late(late_id, form), 422
    outcome = LateOutcome(form.outcome.data)
    try:
        do_once(lambda: decide_late_mark(act(), late_id=late_id, outcome=outcome, reason=form.reason.data or ""))
    except BadInput as problem:
        form.reason.errors = [str(problem)]
        return _late(late_id, form), 422
    if outcome is LateOutcome.TAKEN_IN:
        return redirect(url_for("observe.finish", observation_id=line.observation_id), code=303)
    return redirect(url_for("observe.late"), code=303)


def _offer_late(late_id: str, form: LateForm) -> LateLine:
    line = next((one for one in late_marks(act()) if one.id == late_id), None)
    if line is None:
        raise NotFound("There is no such late mark of yours. Nothing was changed.")
    allowed = [one for one in LateOutcome if one is LateOutcome.LEFT_OUT or line.may_take_in]
    form.outcome.choices = [(one.value, CHOICES[one]) for one in allowed]
    return line


def _late(late_id: str, form: LateForm) -> str:
    line = _offer_late(late_id, form)
    return render_template("observe/late_one.html", line=line, words=event_words(line.event), form=form)


@blueprint.get("/observe/<observation_id>/fault")
@policy(right=Right.OBSERVE)
def show_fault(observation_id: str) -> Any:
    """Ask for lot number and what was seen."""
    return _fault(observation_id, FaultForm(step=request.args.get("step", "")))


@blueprint.post("/observe/<observation_id>/fault")
@policy(right=Right.OBSERVE)
def report_fault(observation_id: str) -> Any:
    """Keep the report, and go back to the sheet."""
    form = FaultForm()
    sheet = _offer_fault(observation_id, form)
    if not form.validate():
        return _fault(observation_id, form), 422
    try:
        do_once(lambda: _report(sheet.id, form))
    except BadInput as problem:
        getattr(form, problem.field).errors = [str(problem)]
        return _fault(observation_id, form), 422
    return redirect(url_for("observe.sheet", observation_id=observation_id, _anchor="fault"), code=303)


def _report(observation_id: str, form: FaultForm) -> str:
    return report_device_fault(
        act(),
        observation_id=observation_id,
        lot_number=form.lot_number.data or "",
        step=form.step.data or "",
        what=form.what.data or "",
    )


def _offer_fault(observation_id: str, form: FaultForm) -> Sheet:
    found = own_sheet(act(), observation_id)
    offer_steps(form, found)
    return found


def offer_steps(form: FaultForm, sheet: Sheet) -> None:
    """Let the form choose among the steps of a sheet."""
    steps = [(step.letter, f"{step.letter}, {step.text}") for step in sheet.procedure.steps]
    form.step.choices = [("", "No step in particular"), *steps]


def _fault(observation_id: str, form: FaultForm) -> str:
    return render_template("observe/fault.html", sheet=_offer_fault(observation_id, form), form=form)


@blueprint.get("/observe/faults")
@policy(right=Right.SET_DEVICE_IN_SERVICE)
def faults() -> Any:
    """List the devices that failed, for those who say which device is in service."""
    return render_template("observe/faults.html", faults=faults_reported(act()))
