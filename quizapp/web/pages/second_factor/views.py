"""Showing the code at sign-in, and setting a second factor up for oneself."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, g, make_response, redirect, render_template, request, url_for

from quizapp.errors import BadInput, NotAllowed
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.sealing import Sealer
from quizapp.services.second_factor import (
    NewFactor,
    begin_second_factor,
    being_set_up,
    confirm_second_factor,
    own_factor,
    show_second_factor,
)
from quizapp.web.edge import act, edge
from quizapp.web.pages.second_factor.forms import BeginForm, ConfirmForm, ShowCodeForm
from quizapp.web.pages.second_factor.square import square_of
from quizapp.web.policy import policy, second_step
from quizapp.web.session_cookie import own_path, with_session
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("second_factor", __name__, template_folder="templates", url_prefix="/second-factor")

NOT_RIGHT = (
    "That code is not right, was used already, or there were too many tries. You are not signed in yet. Wait for the "
    "next code, then write that."
)


def _sealer() -> Sealer:
    return Sealer(edge().settings.secret)


@blueprint.get("")
@policy(before_second_factor=True)
def ask() -> Any:
    """Ask for the code."""
    return render_template("second_factor/ask.html", form=ShowCodeForm(next=request.args.get("next", "")))


@blueprint.post("")
@policy(before_second_factor=True)
def show() -> Any:
    """Check the code; the session gets a new cookie."""
    form = ShowCodeForm()
    if form.validate():
        token = show_second_factor(act(), _sealer(), code=form.code.data or "", session_id=g.signed_in.session_id)
        if token is not None:
            target = own_path(form.next.data or "/")
            return with_session(make_response(redirect(target, code=303)), edge(), token)
        form.code.errors = [NOT_RIGHT]
    return render_template("second_factor/ask.html", form=form), 422


@blueprint.get("/set-up")
@policy(before_second_factor=True)
def set_up() -> Any:
    """Show how a second factor stands, or what to scan while one is being set up."""
    _refuse_before_the_code()
    return _page(ConfirmForm())


def _refuse_before_the_code() -> None:
    """Somebody who has a second factor shows it before making a new one: the password alone is not enough."""
    if g.signed_in.has_second_factor and not g.signed_in.second_factor_shown:
        raise NotAllowed("Show the code of your second factor first. Nothing was changed. Sign in again to be asked.")


def _page(form: ConfirmForm) -> str:
    new = _being_set_up()
    return render_template(
        "second_factor/set_up.html",
        form=form,
        begin=BeginForm(),
        state=own_factor(act()),
        new=new,
        square=square_of(new.address) if new else None,
        must=bool(second_step(edge(), g.signed_in, act().today)),
        next=request.args.get("next", ""),
    )


def _being_set_up() -> NewFactor | None:
    return being_set_up(act(), _sealer(), service_name=edge().service.name, sign_in_name=own_sign_in_name(act()))


@blueprint.post("/begin")
@policy(before_second_factor=True)
def begin() -> Any:
    """Make a new secret to scan."""
    _refuse_before_the_code()
    begin_second_factor(act(), _sealer())
    return redirect(url_for("second_factor.set_up"), code=303)


@blueprint.post("/set-up")
@policy(before_second_factor=True, reauthenticates=True)
def confirm() -> Any:
    """Take it into use; other sessions end and this one gets a new cookie."""
    _refuse_before_the_code()
    form = ConfirmForm()
    if form.validate():
        try:
            token = confirm_second_factor(
                act(), _sealer(), code=form.code.data or "", session_id=g.signed_in.session_id
            )
            return with_session(make_response(redirect(url_for("account.show", was="two"), code=303)), edge(), token)
        except BadInput as fault:
            show_fault(form, fault)
    return _page(form), 422
