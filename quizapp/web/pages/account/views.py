"""One's own account."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, g, redirect, render_template, request, url_for

from quizapp.errors import BadInput
from quizapp.services.accounts import change_password
from quizapp.services.people_list import own_line
from quizapp.services.second_factor import own_factor
from quizapp.web.edge import act
from quizapp.web.pages.account.forms import ChangePasswordForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("account", __name__, template_folder="templates", url_prefix="/account")


@blueprint.get("")
@policy()
def show() -> Any:
    """Show one's own entry and the form."""
    return _page(ChangePasswordForm())


def _page(form: ChangePasswordForm) -> str:
    was = request.args.get("was", "")
    return render_template("account/show.html", form=form, person=own_line(act()), factor=own_factor(act()), was=was)


@blueprint.post("/password")
@policy(reauthenticates=True)
def change() -> Any:
    """Change one's own password; other sessions end."""
    form = ChangePasswordForm()
    if not form.validate():
        return _page(form), 422
    try:
        change_password(
            act(),
            current=form.password.data or "",
            new=form.new_password.data or "",
            session_id=g.signed_in.session_id,
        )
    except BadInput as fault:
        show_fault(form, fault)
        return _page(form), 422
    return redirect(url_for("account.show", was="changed"), code=303)
