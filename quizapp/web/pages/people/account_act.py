"""What an administrator does to somebody's account: make it, hand out a code, close it, open it again."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.accounts import create_account, deactivate_account, invite, reactivate_account
from quizapp.services.people_list import AccountState, PersonLine, person_listed
from quizapp.services.second_factor import forget_second_factor
from quizapp.web.edge import act
from quizapp.web.forms import do_once
from quizapp.web.pages.people.forms import AccountForm
from quizapp.web.pages.people.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

CREATE = ("create", "Make an account; a code is handed out in a second step")
FIRST_CODE = ("invite", "Show a code for the first password: works once, for 7 days")
RESET_CODE = ("invite", "Show a code for a new password: works once, for 30 minutes")
FORGET = ("forget", "Have the second factor forgotten: sessions end, they set up a new one after the password")
CLOSE = ("close", "Close the account now: sessions and codes end at once, everything recorded stays")
OPEN = ("open", "Open the account again, without a password")
ACTS = {
    AccountState.NONE: [CREATE],
    AccountState.INVITED: [FIRST_CODE, CLOSE],
    AccountState.ACTIVE: [RESET_CODE, FORGET, CLOSE],
    AccountState.CLOSED: [OPEN],
}
DONE = {"close": deactivate_account, "open": reactivate_account, "forget": forget_second_factor}


@blueprint.get("/<person_id>/account")
@policy(right=Right.MANAGE_ACCOUNTS)
def account_form(person_id: str) -> Any:
    """Show what can be done."""
    person = person_listed(act(), person_id)
    return render_template("people/account.html", person=person, form=_form(person))


def _form(person: PersonLine) -> AccountForm:
    form = AccountForm()
    form.what.choices = ACTS[person.account]
    if form.what.data is None:
        form.what.data = form.what.choices[0][0]
    return form


@blueprint.post("/<person_id>/account")
@policy(right=Right.MANAGE_ACCOUNTS, reauthenticates=True)
def account_act(person_id: str) -> Any:
    """Do it; a code is shown once, in the answer itself, and kept nowhere."""
    person = person_listed(act(), person_id)
    form = _form(person)
    if form.validate():
        try:
            if form.what.data == "invite":
                invitation = invite(act(), person_id=person_id)
                return render_template("people/code.html", person=person, invitation=invitation)
            do_once(lambda: _do(person_id, form))
            return redirect(url_for("people.show", person_id=person_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="what")
    return render_template("people/account.html", person=person, form=form), 422


def _do(person_id: str, form: AccountForm) -> str:
    if form.what.data == "create":
        return create_account(act(), person_id=person_id, sign_in_name=form.sign_in_name.data or "")
    DONE[form.what.data](act(), person_id=person_id)
    return person_id
