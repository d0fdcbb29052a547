"""A checked list of sign-offs given elsewhere is signed by the one who brought it, then waits for the second person."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, ContentFaults
from quizapp.services.recognise_sign_offs import sign_as_first, to_sign_first
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.list_sign_form import MOST_SHOWN, ListSignForm
from quizapp.web.pages.people.forms import CheckSignOffsForm
from quizapp.web.pages.people.imports import sign_offs_page
from quizapp.web.pages.people.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


@blueprint.get("/sign-offs/<draft_id>")
@policy(right=Right.IMPORT_PEOPLE)
def sign_offs_first(draft_id: str) -> Any:
    """Show exactly what would be recognised, to be signed."""
    return _page(draft_id, ListSignForm())


def _page(draft_id: str, form: ListSignForm) -> str:
    shown = to_sign_first(act(), edge().library, draft_id)
    form.shown_hash.data = shown.shown_hash
    return render_template("people/sign_offs_first.html", form=form, shown=shown, most=MOST_SHOWN)


@blueprint.post("/sign-offs/<draft_id>")
@policy(right=Right.IMPORT_PEOPLE, reauthenticates=True)
def sign_list_first(draft_id: str) -> Any:
    """Sign the list with the password in this request."""
    form = ListSignForm()
    if not form.validate():
        return _page(draft_id, form), 422
    entered = {"shown_hash": form.shown_hash.data or "", "password": form.password.data or ""}
    try:
        do_once(lambda: sign_as_first(act(), edge().library, draft_id, **entered))
    except ContentFaults as found:
        return sign_offs_page(CheckSignOffsForm(formdata=None), found.faults), 409
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _page(draft_id, form), 422
    return redirect(url_for("people.index", signed=draft_id), code=303)
