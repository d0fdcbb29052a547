"""Content and its acceptance."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import BadInput
from quizapp.services.accept_content import (
    accept_content,
    content_state,
    content_states,
    lift_withdrawal,
    withdraw_content,
)
from quizapp.services.exposure_of_content import exposure_of_content
from quizapp.services.who_met import who_met
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.content import preview_views
from quizapp.web.pages.content.blueprint import blueprint
from quizapp.web.pages.content.forms import AcceptForm, LiftForm, WithdrawForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

__all__ = ["blueprint", "preview_views"]


@blueprint.get("")
@policy(right=Right.PREVIEW_CONTENT)
def index() -> Any:
    """List everything in the content folder with its acceptance."""
    return _index(AcceptForm())


def _index(form: AcceptForm) -> str:
    states = content_states(act(), edge().library)
    form.items.choices = [
        (
            f"{state.item.kind.value} {state.item.code} {state.item.content_hash}",
            f"{state.item.code}: {state.item.title}",
        )
        for state in states
        if state.accepted_at is None and not state.is_own
    ]
    may_accept = has_right(act().actor, Right.ACCEPT_CONTENT, act().today)
    return render_template(
        "content/index.html",
        form=form,
        states=states,
        waiting_count=sum(state.accepted_at is None for state in states),
        may_accept=may_accept,
        exposure=exposure_of_content(act()),
    )


@blueprint.post("/accept")
@policy(right=Right.ACCEPT_CONTENT, reauthenticates=True)
def accept() -> Any:
    """Accept the chosen items as their bytes were when the page was drawn."""
    form = AcceptForm()
    form.items.validate_choice = False
    if form.validate():
        try:
            wanted = [_named(text) for text in form.items.data or []]
            do_once(
                lambda: len(
                    accept_content(act(), edge().library, wanted=wanted, local_changes=form.local_changes.data or "")
                )
            )
            return redirect(url_for("content.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return _index(form), 422


def _named(text: str) -> tuple[str, str, str]:
    kind, code, content_hash, *rest = [*text.split(" "), "", "", ""][:4]
    if any(rest):
        raise BadInput("That is no item of the list.", field="items")
    return kind, code, content_hash


@blueprint.get("/<kind>/<code>")
@policy(right=Right.PREVIEW_CONTENT)
def show(kind: str, code: str) -> Any:
    """Show one item, what of it is withdrawn, and who met it."""
    return _item_page(kind, code, WithdrawForm())


def _item_page(kind: str, code: str, form: WithdrawForm) -> str:
    state = content_state(act(), edge().library, kind=kind, code=code)
    item = state.item
    out = {one.step for one in state.withdrawals}
    steps = [(step, f"Step {step} alone") for step in item.steps if step not in out]
    form.step.choices = [("", f"The whole {item.kind.words}"), *steps]
    met = who_met(act(), edge().library, kind=item.kind, code=item.code, content_hash=item.content_hash)
    may_accept = has_right(act().actor, Right.ACCEPT_CONTENT, act().today)
    return render_template("content/show.html", state=state, form=form, met=met, may_accept=may_accept)


@blueprint.post("/<kind>/<code>/withdraw")
@policy(right=Right.WITHDRAW_CONTENT, reauthenticates=True)
def withdraw(kind: str, code: str) -> Any:
    """Withdraw the file or one step, at once."""
    form = WithdrawForm()
    state = content_state(act(), edge().library, kind=kind, code=code)
    form.step.validate_choice = False
    if form.validate():
        try:
            do_once(
                lambda: withdraw_content(
                    act(),
                    edge().library,
                    kind=kind,
                    code=code,
                    content_hash=state.item.content_hash,
                    step=form.step.data or "",
                    reason=form.reason.data or "",
                )
            )
            return redirect(url_for("content.show", kind=kind, code=code), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return _item_page(kind, code, form), 422


@blueprint.get("/<kind>/<code>/withdrawals/<withdrawal_id>")
@policy(right=Right.ACCEPT_CONTENT)
def lift_form(kind: str, code: str, withdrawal_id: str) -> Any:
    """Ask once more before taking it back into use."""
    return _lift_page(kind, code, withdrawal_id, LiftForm())


def _lift_page(kind: str, code: str, withdrawal_id: str, form: LiftForm) -> str:
    state = content_state(act(), edge().library, kind=kind, code=code)
    return render_template("content/lift.html", state=state, withdrawal=state.withdrawal(withdrawal_id), form=form)


@blueprint.post("/<kind>/<code>/withdrawals/<withdrawal_id>")
@policy(right=Right.ACCEPT_CONTENT, reauthenticates=True)
def lift(kind: str, code: str, withdrawal_id: str) -> Any:
    """Take it back into use."""
    form = LiftForm()
    if not form.validate():
        return _lift_page(kind, code, withdrawal_id, form), 422
    do_once(lambda: lift_withdrawal(act(), withdrawal_id=withdrawal_id))
    return redirect(url_for("content.show", kind=kind, code=code), code=303)
