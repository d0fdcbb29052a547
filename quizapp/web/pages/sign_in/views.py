"""Signing in and out, and the lamp switch for browsers without scripts."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, g, make_response, redirect, render_template, request, session, url_for

from quizapp.services.sign_in import SignInOutcome, sign_in, sign_out
from quizapp.web.edge import act, edge
from quizapp.web.page_context import LAMPS
from quizapp.web.pages.sign_in.forms import SignInForm
from quizapp.web.policy import cookie_name, policy
from quizapp.web.session_cookie import own_path, with_session

blueprint = Blueprint("sign_in", __name__, template_folder="templates")


@blueprint.get("/sign-in")
@policy(public=True)
def show() -> Any:
    """Show the form."""
    form = SignInForm(next=request.args.get("next", ""))
    return render_template("sign_in/show.html", form=form, problem="", ended=request.args.get("was") == "ended")


@blueprint.post("/sign-in")
@policy(public=True, reauthenticates=True)
def enter() -> Any:
    """Check name and password; a new session cookie each time."""
    form = SignInForm()
    if not form.validate():
        return render_template("sign_in/show.html", form=form, problem="", ended=False), 422
    doing, parts = act(), edge()
    outcome = sign_in(
        doing.session, doing.now, doing.randomness, name=form.name.data or "", password=form.password.data or ""
    )
    if outcome.token is None:
        return _refused(form, outcome)
    session.clear()
    return with_session(make_response(redirect(own_path(form.next.data or "/"), code=303)), parts, outcome.token)


def _refused(form: SignInForm, outcome: SignInOutcome) -> Any:
    problem = "Name and password do not go together. Nothing was changed. Check both and try again."
    if outcome.wait_s:
        problem = f"Too many tries for this name. Wait {outcome.wait_s} seconds, then try again."
    page = render_template("sign_in/show.html", form=form, problem=problem, ended=False)
    answer = make_response(page, 429 if outcome.wait_s else 401)
    if outcome.wait_s:
        answer.headers["Retry-After"] = str(outcome.wait_s)
    return answer


@blueprint.post("/sign-out")
@policy(before_second_factor=True)
def leave() -> Any:
    """End this session."""
    sign_out(act(), g.signed_in.session_id)
    session.clear()
    answer = make_response(redirect(url_for("sign_in.show"), code=303))
    answer.delete_cookie(cookie_name(edge()), path="/", secure=not edge().settings.plain_http, httponly=True)
    return answer


@blueprint.post("/lamp")
@policy(public=True, reads_by_post=True)
def lamp() -> Any:
    """Remember day or night ink in a cookie and go back."""
    wanted = request.form.get("lamp", "")
    answer = make_response(redirect(own_path(request.form.get("next", "/")), code=303))
    if wanted in LAMPS:
        answer.set_cookie("lamp", wanted, max_age=31_536_000, samesite="Lax", secure=not edge().settings.plain_http)
    return answer
