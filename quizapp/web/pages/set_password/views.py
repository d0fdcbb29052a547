"""Setting a password by a code."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.errors import BadInput
from quizapp.services.accounts import set_password
from quizapp.web.edge import act
from quizapp.web.pages.set_password.forms import SetPasswordForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("set_password", __name__, template_folder="templates")


@blueprint.get("/set-password")
@policy(public=True)
def show() -> Any:
    """Show the form."""
    return render_template("set_password/show.html", form=SetPasswordForm())


@blueprint.post("/set-password")
@policy(public=True)
def save() -> Any:
    """Set the password and lead to the sign-in; sending it twice finds the code used."""
    form = SetPasswordForm()
    if not form.validate():
        return render_template("set_password/show.html", form=form), 422
    try:
        set_password(
            act(),
            sign_in_name=form.sign_in_name.data or "",
            code=form.code.data or "",
            password=form.new_password.data or "",
        )
    except BadInput as fault:
        named = "new_password" if fault.field == "password" else fault.field
        show_fault(form, BadInput(str(fault), field=named))
        return render_template("set_password/show.html", form=form), 422
    return redirect(url_for("set_password.done"), code=303)


@blueprint.get("/set-password/done")
@policy(public=True)
def done() -> Any:
    """Say that it is set."""
    return render_template("set_password/done.html")
