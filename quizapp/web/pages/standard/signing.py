"""A draft is put in force: its change and its effect on people are shown, then it is signed."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.decision_statement import as_mapping
from quizapp.services.draft_standard import draft
from quizapp.services.put_standard_in_force import prepare_standard, sign_standard, standard_intent
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.standard.drafting import draft_page
from quizapp.web.pages.standard.forms import SignStandardForm, general_form
from quizapp.web.pages.standard.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


@blueprint.post("/draft/<draft_id>/prepare")
@policy(right=Right.SET_STANDARD)
def prepare(draft_id: str) -> Any:
    """Check the draft and go to the page on which exactly it is signed."""
    try:
        intent_id = do_once(lambda: prepare_standard(act(), edge().library, draft_id))
    except BadInput:
        written = draft(act(), edge().library, draft_id)
        return draft_page(written, general_form(written.terms, written.revision)), 422
    return redirect(url_for("standard.show_signing", intent_id=intent_id), code=303)


@blueprint.get("/sign/<intent_id>")
@policy(right=Right.SET_STANDARD)
def show_signing(intent_id: str) -> Any:
    """Show exactly what will be signed, and for how many people it changes something."""
    return _page(intent_id, SignStandardForm())


def _page(intent_id: str, form: SignStandardForm) -> str:
    intent = standard_intent(act(), intent_id)
    return render_template("standard/sign.html", intent=intent, statement=as_mapping(intent.statement), form=form)


@blueprint.post("/sign/<intent_id>")
@policy(right=Right.SET_STANDARD, reauthenticates=True)
def sign(intent_id: str) -> Any:
    """Put it in force with the password in this request."""
    form = SignStandardForm()
    if not form.validate():
        return _page(intent_id, form), 422
    try:
        standard_id = do_once(
            lambda: sign_standard(act(), edge().library, intent_id, password=form.password.data or "")
        )  # fmt: skip
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _page(intent_id, form), 422
    return redirect(url_for("standard.show", signed=standard_id), code=303)
