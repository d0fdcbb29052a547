"""Signing a list as the second person, or leaving it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.recognise_sign_offs import leave_list, sign_as_second, sign_offs_waiting, to_sign_second
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.list_sign_form import MOST_SHOWN, ListSignForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("recognise", __name__, template_folder="templates", url_prefix="/recognise")


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def index() -> Any:
    """List what waits for the reader, after what was just done."""
    done = request.args.get("done", "")
    return render_template("recognise/index.html", lists=sign_offs_waiting(act()), done=done if _is_count(done) else "")


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 8


@blueprint.get("/<draft_id>")
@policy(right=Right.SEE_OWN_RECORD)
def show(draft_id: str) -> Any:
    """Show exactly what would be recognised."""
    return _page(draft_id, ListSignForm())


def _page(draft_id: str, form: ListSignForm) -> str:
    shown = to_sign_second(act(), edge().library, draft_id)
    form.shown_hash.data = shown.shown_hash
    return render_template("recognise/show.html", form=form, leave=ActForm(), shown=shown, most=MOST_SHOWN)


@blueprint.post("/<draft_id>")
@policy(right=Right.SEE_OWN_RECORD, reauthenticates=True)
def sign(draft_id: str) -> Any:
    """Sign it with the password in this request; then all of it counts."""
    form = ListSignForm()
    if not form.validate():
        return _page(draft_id, form), 422
    entered = {"shown_hash": form.shown_hash.data or "", "password": form.password.data or ""}

    def do() -> int:
        return len(sign_as_second(act(), edge().library, draft_id, **entered).new)

    try:
        count = do_once(do)
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _page(draft_id, form), 422
    return redirect(url_for("recognise.index", done=count), code=303)


@blueprint.post("/<draft_id>/leave")
@policy(right=Right.SEE_OWN_RECORD)
def leave(draft_id: str) -> Any:
    """Leave the list; nothing of it counts."""
    do_once(lambda: leave_list(act(), draft_id))
    return redirect(url_for("recognise.index", done=0), code=303)
