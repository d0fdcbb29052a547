"""Deciding and signing."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.standing import ProfileRevision
from quizapp.errors import BadInput
from quizapp.services.decision_desk import desk, waiting
from quizapp.services.decision_statement import as_mapping
from quizapp.services.recognise_sign_offs import sign_offs_waiting
from quizapp.services.rules_behind import rules_behind
from quizapp.services.sign_decision import (
    SecondPerson,
    decision_intent,
    prepare_decision,
    sign_decision,
)
from quizapp.services.signed_decision import signed_decision
from quizapp.services.void_decision import voids_waiting
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.decisions.desk_page import (
    against_rows,
    days_in,
    decided_rows,
    desk_finding,
    device_code,
    device_links,
    read_profile,
    waiting_rows,
)
from quizapp.web.pages.decisions.forms import OUTCOME_WORDS, DecideForm, SignForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("decisions", __name__, template_folder="templates", url_prefix="/decisions")


@blueprint.get("")
@policy(right=Right.DECIDE)
def index() -> Any:
    """List the people waiting for a decision, after what was just signed."""
    desks = waiting(act(), edge().library)
    signed = signed_decision(act(), request.args.get("signed", ""))
    return render_template(
        "decisions/index.html",
        rows=waiting_rows(desks),
        signed=signed,
        words=OUTCOME_WORDS,
        voids=voids_waiting(act()),
        lists=len(sign_offs_waiting(act())),
    )


@blueprint.get("/<person_id>")
@policy(right=Right.DECIDE)
def show(person_id: str) -> Any:
    """Show one person's evidence against what is required, on the newest device revision or the one asked for."""
    profile = read_profile(request.args.get("device", ""))
    return _desk_page(person_id, _form(person_id, profile), profile)


@blueprint.post("/<person_id>")
@policy(right=Right.DECIDE)
def prepare(person_id: str) -> Any:
    """Check the decision and go to the page on which exactly it is signed."""
    profile = read_profile(request.args.get("device", ""))
    form = _form(person_id, profile)
    if not form.validate():
        return _desk_page(person_id, form, profile), 422
    try:
        intent_id = do_once(lambda: prepare_decision(act(), edge().library, person_id, form.wanted(profile)))
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _desk_page(person_id, form, profile), 422
    return redirect(url_for("decisions.show_signing", intent_id=intent_id), code=303)


@blueprint.get("/sign/<intent_id>")
@policy(right=Right.DECIDE)
def show_signing(intent_id: str) -> Any:
    """Show exactly what will be signed."""
    return _signing_page(intent_id, SignForm())


@blueprint.post("/sign/<intent_id>")
@policy(right=Right.DECIDE, reauthenticates=True)
def sign(intent_id: str) -> Any:
    """Sign it with the password in this request."""
    form = SignForm()
    if not form.validate():
        return _signing_page(intent_id, form), 422
    second = SecondPerson(sign_in_name=form.second_name.data or "", password=form.second_password.data or "")
    try:
        ids = do_once(
            lambda: sign_decision(act(), edge().library, intent_id, password=form.password.data or "", second=second)
        )
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _signing_page(intent_id, form), 422
    return redirect(url_for("decisions.index", signed=ids[0]), code=303)


def _form(person_id: str, profile: ProfileRevision | None) -> DecideForm:
    form = DecideForm()
    page = desk(act(), edge().library, person_id, profile=profile)
    titles = edge().library.competencies
    form.competencies.choices = [
        (
            one.competency,
            f"{one.competency} {titles[one.competency].title}{'' if one.may_sign_off else ' (incomplete)'}",
        )
        for one in page.readiness
    ]
    return form


def _desk_page(person_id: str, form: DecideForm, profile: ProfileRevision | None) -> str:
    page = desk(act(), edge().library, person_id, profile=profile)
    waits = waiting(act(), edge().library)
    return render_template(
        "decisions/show.html",
        page=page,
        form=form,
        finding=desk_finding(page),
        required=against_rows(page, edge().service.zone),
        rules=rules_behind(act(), page),
        rows=waiting_rows(waits, person_id),
        device=device_code(page.profile) if profile else None,
        devices=device_links(page),
        past=decided_rows(page, edge().service.zone),
    )


def _signing_page(intent_id: str, form: SignForm) -> str:
    intent = decision_intent(act(), intent_id)
    words = {outcome.value: words for outcome, words in OUTCOME_WORDS.items()}
    statement = as_mapping(intent.statement)
    return render_template(
        "decisions/sign.html",
        intent=intent,
        statement=statement,
        days=days_in(statement),
        words=words,
        form=form,
    )
