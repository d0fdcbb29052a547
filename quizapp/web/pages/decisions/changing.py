"""One decision with its versions; it is amended by a new version, or voided by two educators."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.standing import Outcome
from quizapp.errors import BadInput
from quizapp.services.amend_decision import amendment_intent, prepare_amendment, sign_amendment
from quizapp.services.decision_page import changeable_decision_page, decision_page
from quizapp.services.decision_statement import as_mapping
from quizapp.services.void_decision import prepare_settling, prepare_void, proposed_void, sign_void, void_intent
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.decisions.forms import OUTCOME_WORDS, AmendForm, SettleForm, SignForm, VoidForm, with_outcomes
from quizapp.web.pages.decisions.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

WORDS = {outcome.value: words.lower() for outcome, words in OUTCOME_WORDS.items()}


@blueprint.get("/decision/<decision_id>")
@policy(right=Right.DECIDE)
def one(decision_id: str) -> Any:
    """Show one decision, every version of it, and what can be done about it."""
    page = decision_page(act(), edge().library, decision_id)
    done = request.args.get("done", "")
    return render_template("decisions/one.html", page=page, words=WORDS, done=done)


@blueprint.get("/decision/<decision_id>/amend")
@policy(right=Right.DECIDE)
def amend_form(decision_id: str) -> Any:
    """Ask what it shall say from now on."""
    row = changeable_decision_page(act(), edge().library, decision_id).newest
    form = AmendForm(
        outcome=row.outcome,
        last_valid_day=row.last_valid_day,
        conditions=row.conditions or "",
        reason=row.reason,
    )
    return _amend_page(decision_id, form)


def _amend_page(decision_id: str, form: AmendForm) -> str:
    page = changeable_decision_page(act(), edge().library, decision_id)
    form = with_outcomes(form, Outcome(page.newest.outcome))
    return render_template("decisions/amend.html", page=page, form=form, words=WORDS)


@blueprint.post("/decision/<decision_id>/amend")
@policy(right=Right.DECIDE)
def amend(decision_id: str) -> Any:
    """Check the amendment and go to the page on which exactly it is signed."""
    page = changeable_decision_page(act(), edge().library, decision_id)
    form = with_outcomes(AmendForm(), Outcome(page.newest.outcome))
    if not form.validate():
        return _amend_page(decision_id, form), 422
    try:
        intent_id = do_once(lambda: prepare_amendment(act(), edge().library, decision_id, form.wanted()))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _amend_page(decision_id, form), 422
    return redirect(url_for("decisions.show_amendment", intent_id=intent_id), code=303)


@blueprint.get("/amendment/<intent_id>")
@policy(right=Right.DECIDE)
def show_amendment(intent_id: str) -> Any:
    """Show exactly what will be signed."""
    return _amendment_page(intent_id, SignForm())


def _amendment_page(intent_id: str, form: SignForm) -> str:
    intent = amendment_intent(act(), intent_id)
    statement = as_mapping(intent.statement)
    return render_template("decisions/sign_amendment.html", intent=intent, statement=statement, form=form, words=WORDS)


@blueprint.post("/amendment/<intent_id>")
@policy(right=Right.DECIDE, reauthenticates=True)
def sign_amended(intent_id: str) -> Any:
    """Sign the amendment with the password in this request."""
    form = SignForm()
    if not form.validate():
        return _amendment_page(intent_id, form), 422
    password = form.password.data or ""
    try:
        decision_id = do_once(lambda: sign_amendment(act(), edge().library, intent_id, password=password))
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _amendment_page(intent_id, form), 422
    return redirect(url_for("decisions.one", decision_id=decision_id, done="amended"), code=303)


@blueprint.get("/decision/<decision_id>/void")
@policy(right=Right.VOID_DECISION)
def void_form(decision_id: str) -> Any:
    """Ask why it is void."""
    return _void_page(decision_id, VoidForm())


def _void_page(decision_id: str, form: VoidForm) -> str:
    page = changeable_decision_page(act(), edge().library, decision_id)
    return render_template("decisions/void.html", page=page, form=form, words=WORDS)


@blueprint.post("/decision/<decision_id>/void")
@policy(right=Right.VOID_DECISION)
def void(decision_id: str) -> Any:
    """Check the proposal and go to the page on which exactly it is signed."""
    form = VoidForm()
    if not form.validate():
        return _void_page(decision_id, form), 422
    try:
        intent_id = do_once(lambda: prepare_void(act(), decision_id, reason=form.reason.data or ""))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _void_page(decision_id, form), 422
    return redirect(url_for("decisions.show_void", intent_id=intent_id), code=303)


@blueprint.get("/proposal/<void_id>")
@policy(right=Right.VOID_DECISION)
def settle_form(void_id: str) -> Any:
    """Show a proposal to its second educator."""
    return _settle_page(void_id, SettleForm())


def _settle_page(void_id: str, form: SettleForm) -> str:
    waits = proposed_void(act(), void_id)
    page = decision_page(act(), edge().library, waits.decision_id)
    return render_template("decisions/settle.html", waits=waits, page=page, form=form, words=WORDS)


@blueprint.post("/proposal/<void_id>")
@policy(right=Right.VOID_DECISION)
def settle(void_id: str) -> Any:
    """Check the answer and go to the page on which exactly it is signed."""
    form = SettleForm()
    if not form.validate():
        return _settle_page(void_id, form), 422
    confirm, reason = form.answer.data == "confirm", form.reason.data or ""
    try:
        intent_id = do_once(lambda: prepare_settling(act(), void_id, confirm=confirm, reason=reason))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _settle_page(void_id, form), 422
    return redirect(url_for("decisions.show_void", intent_id=intent_id), code=303)


@blueprint.get("/void/<intent_id>")
@policy(right=Right.VOID_DECISION)
def show_void(intent_id: str) -> Any:
    """Show exactly what will be signed."""
    return _sign_void_page(intent_id, SignForm())


def _sign_void_page(intent_id: str, form: SignForm) -> str:
    intent = void_intent(act(), intent_id)
    statement = as_mapping(intent.statement)
    return render_template("decisions/sign_void.html", intent=intent, statement=statement, form=form, words=WORDS)


@blueprint.post("/void/<intent_id>")
@policy(right=Right.VOID_DECISION, reauthenticates=True)
def sign_voiding(intent_id: str) -> Any:
    """Sign the proposal or the answer with the password in this request."""
    form = SignForm()
    if not form.validate():
        return _sign_void_page(intent_id, form), 422
    decision_id = str(as_mapping(void_intent(act(), intent_id).statement)["decision"])
    try:
        do_once(lambda: sign_void(act(), intent_id, password=form.password.data or ""))
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _sign_void_page(intent_id, form), 422
    return redirect(url_for("decisions.one", decision_id=decision_id, done="signed"), code=303)
