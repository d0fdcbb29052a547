"""The end of an observation: what was marked, the lock, the signature, and the result."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.correct_observation import corrected_sheet
from quizapp.services.double_observations import can_compare
from quizapp.services.lock_observation import lock_observation
from quizapp.services.observation_sheet import Sheet, own_sheet
from quizapp.services.observations_of import observation_record
from quizapp.services.report_device_fault import faults_of_sheet
from quizapp.services.sign_observation import RECORD_TYPE, prepare_observation, sign_observation, signable_row
from quizapp.services.signing import open_intent, signatures_of
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.forms import CONFIRMED, NOT_CONFIRMED, LockForm, SignForm
from quizapp.web.pages.observe.result_page import marked_finding, result_page
from quizapp.web.policy import policy


@blueprint.get("/observe/<observation_id>/finish")
@policy(right=Right.OBSERVE)
def finish(observation_id: str) -> Any:
    """Show what was marked, ask for the judgement, and hand the device to the person observed."""
    found = own_sheet(act(), observation_id)
    if found.locked_at is not None or found.voided_at is not None:
        return redirect(url_for("observe.result", observation_id=observation_id), code=303)
    rating = found.state.rating
    return _finish(found, LockForm(global_rating=str(rating) if rating else None))


@blueprint.post("/observe/<observation_id>/finish")
@policy(right=Right.OBSERVE)
def lock(observation_id: str) -> Any:
    """Lock the sheet with the rating and the person's word."""
    form = LockForm()
    if not form.validate():
        return _finish(own_sheet(act(), observation_id), form), 422
    do_once(lambda: _lock(observation_id, form))
    return redirect(url_for("observe.result", observation_id=observation_id), code=303)


def _lock(observation_id: str, form: LockForm) -> str:
    result = lock_observation(
        act(),
        observation_id=observation_id,
        global_rating=int(str(form.global_rating.data)),
        person_confirms=form.confirmed.data == CONFIRMED,
        person_comment=form.person_comment.data or "",
    )
    return result.decision.value


def _finish(sheet: Sheet, form: LockForm) -> str:
    return render_template(
        "observe/finish.html",
        sheet=sheet,
        finding=marked_finding(sheet),
        page=result_page(sheet),
        form=form,
        plain=ActForm(formdata=None),
        confirmed=CONFIRMED,
        not_confirmed=NOT_CONFIRMED,
    )


@blueprint.get("/observe/<observation_id>/result")
@policy(right=Right.SEE_OWN_RECORD)
def result(observation_id: str) -> Any:
    """Show the result to those who may see it; the assessor of an open sheet is sent to the sheet."""
    found = observation_record(act(), observation_id)
    if found.locked_at is None and found.voided_at is None:
        return redirect(url_for("observe.sheet", observation_id=observation_id), code=303)
    found, corrections = corrected_sheet(act(), found)
    return render_template(
        "observe/result.html",
        sheet=found,
        corrections=corrections,
        page=result_page(found),
        signatures=signatures_of(act(), found.id),
        refusal=_why_not_signable(found),
        is_compared=can_compare(act(), found.performance_id),
        faults=faults_of_sheet(act(), found.id),
        is_own=found.person_id == act().actor.person_id,
        form=ActForm(),
    )


def _why_not_signable(sheet: Sheet) -> str | None:
    """Return "" when the actor may sign now, why not for an assessor who would like to, None for everybody else."""
    if sheet.signature_id is not None or sheet.voided_at is not None or sheet.person_id == act().actor.person_id:
        return None
    try:
        signable_row(act(), sheet.id, is_current=assessor_currency(edge().library))
    except (NotAllowed, Conflict) as refusal:
        return str(refusal)
    except NotFound:
        return None
    return ""


@blueprint.post("/observe/<observation_id>/sign")
@policy(right=Right.OBSERVE)
def prepare(observation_id: str) -> Any:
    """Keep exactly what is about to be signed, then show it."""
    current = assessor_currency(edge().library)
    intent_id = do_once(lambda: prepare_observation(act(), observation_id=observation_id, is_current=current).id)
    return redirect(url_for("observe.show_to_sign", observation_id=observation_id, intent_id=intent_id), code=303)


@blueprint.get("/observe/<observation_id>/sign/<intent_id>")
@policy(right=Right.OBSERVE)
def show_to_sign(observation_id: str, intent_id: str) -> Any:
    """Show the statement above the password."""
    return _to_sign(observation_id, intent_id, SignForm())


@blueprint.post("/observe/<observation_id>/sign/<intent_id>")
@policy(right=Right.OBSERVE, reauthenticates=True)
def sign(observation_id: str, intent_id: str) -> Any:
    """Sign with the password; a wrong one leaves everything as it was, and a trace."""
    form = SignForm()
    if not form.validate():
        return _to_sign(observation_id, intent_id, form), 422
    try:
        do_once(lambda: _sign(observation_id, intent_id, str(form.password.data)))
    except BadInput as problem:
        form.password.errors = [str(problem)]
        return _to_sign(observation_id, intent_id, form), 422
    return redirect(url_for("observe.result", observation_id=observation_id), code=303)


def _sign(observation_id: str, intent_id: str, password: str) -> list[str]:
    current = assessor_currency(edge().library)
    evidence = sign_observation(
        act(), observation_id=observation_id, intent_id=intent_id, password=password, is_current=current
    )
    return list(evidence)


def _to_sign(observation_id: str, intent_id: str, form: SignForm) -> str:
    intent = open_intent(act(), intent_id, record_type=RECORD_TYPE)
    if not isinstance(intent.statement, dict) or intent.statement.get("observation") != observation_id:
        raise NotFound("There is nothing here for you to sign.")
    address = url_for("observe.sign", observation_id=observation_id, intent_id=intent_id)
    return render_template(
        "observe/sign.html", statement=intent.statement, observation_id=observation_id, address=address, form=form
    )
