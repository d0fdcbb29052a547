"""Anybody who holds a paper or a file asks here whether it is genuine and whether it still holds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, make_response, render_template, request

from quizapp.errors import BadInput, TooSoon
from quizapp.services.check_take_away import Checked, check_code, check_file
from quizapp.services.take_away_signature import public_key
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.pages.check.forms import CodeForm, FileForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("check", __name__, template_folder="templates", url_prefix="/check")


@blueprint.get("")
@policy(public=True)
def show() -> Any:
    """Show where to enter the code or send the file."""
    return _page(CodeForm(), FileForm())


@blueprint.post("")
@policy(public=True)
def code() -> Any:
    """Look a code up; the look is kept for the person whose evidence it is."""
    form = CodeForm()
    if not form.validate():
        return _page(form, FileForm(formdata=None)), 422
    typed = form.code.data or ""
    return _answer(
        form, FileForm(formdata=None), form, lambda: check_code(act(), edge().library, typed, address=_who())
    )


@blueprint.post("/file")
@policy(public=True)
def file() -> Any:
    """Compare a file with what was handed over."""
    form = FileForm()
    sent = form.file.data
    if not form.validate() or not sent or isinstance(sent, str):
        form.file.errors = [*form.file.errors, "Choose the file that you were given. Nothing was looked up."]
        return _page(CodeForm(formdata=None), form), 422
    content = sent.read()
    return _answer(
        CodeForm(formdata=None), form, form, lambda: check_file(act(), edge().library, content, address=_who())
    )


def _who() -> str:
    return request.remote_addr or ""


def _answer(code_form: CodeForm, file_form: FileForm, sent: ActForm, check: Callable[[], Checked]) -> Any:
    try:
        return render_template("check/result.html", checked=check())
    except BadInput as fault:
        show_fault(sent, fault)
        return _page(code_form, file_form), 422
    except TooSoon as fault:
        answer = make_response(_page(code_form, file_form, problem=str(fault)), 429)
        answer.headers["Retry-After"] = str(fault.wait_s)
        return answer


def _page(code_form: CodeForm, file_form: FileForm, problem: str = "") -> str:
    return render_template(
        "check/show.html",
        code_form=code_form,
        file_form=file_form,
        problem=problem,
        key=public_key(edge().settings.secret),
    )
