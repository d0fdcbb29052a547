"""Roles of the service."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.role_grants import RoleWanted
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput
from quizapp.services.grant_role import confirm_role, decline_role, end_role, propose_role
from quizapp.services.people_list import bases, person_listed, person_with_number
from quizapp.services.role_lists import proposal_waiting, proposals_waiting, role_in_force, roles_in_force
from quizapp.web.edge import act, actor
from quizapp.web.forms import do_once
from quizapp.web.pages.roles.forms import EndForm, ProposeForm, SettleForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("roles", __name__, template_folder="templates", url_prefix="/roles")


@blueprint.get("")
@policy(right=Right.MANAGE_ROLES)
def index() -> Any:
    """List what waits and who holds what."""
    waiting = proposals_waiting(act())
    mine = frozenset({actor().person_id})
    return render_template("roles/index.html", waiting=waiting, roles=roles_in_force(act()), mine=mine)


@blueprint.get("/new")
@policy(right=Right.MANAGE_ROLES)
def new() -> Any:
    """Show an empty form; `person` in the address fills in whom it is about."""
    form = _propose_form(ProposeForm(from_day=act().today))
    person_id = request.args.get("person", "")
    if person_id:
        form.staff_number.data = person_listed(act(), person_id).staff_number
    return render_template("roles/new.html", form=form)


def _propose_form(form: ProposeForm) -> ProposeForm:
    form.base_id.choices = [("", "Whole service"), *((base.id, base.name) for base in bases(act()))]
    return form


@blueprint.post("/new")
@policy(right=Right.MANAGE_ROLES, reauthenticates=True)
def propose() -> Any:
    """Propose a role, or grant a clinician's at once."""
    form = _propose_form(ProposeForm())
    if form.validate():
        try:
            person_id = person_with_number(act(), form.staff_number.data or "")
            do_once(lambda: propose_role(act(), person_id=person_id, wanted=_wanted(form)).proposal_id)
            return redirect(url_for("roles.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return render_template("roles/new.html", form=form), 422


def _wanted(form: ProposeForm) -> RoleWanted:
    return RoleWanted(
        role=Role(form.role.data),
        base_id=form.base_id.data or None,
        from_day=form.from_day.required_day(),
        until_day=form.until_day.data,
        recognised=bool(form.recognised.data),
        reason=form.reason.data or "",
    )


@blueprint.get("/proposals/<proposal_id>")
@policy(right=Right.MANAGE_ROLES)
def proposal(proposal_id: str) -> Any:
    """Show one proposal."""
    return _proposal_page(proposal_id, SettleForm())


def _proposal_page(proposal_id: str, form: SettleForm) -> str:
    line = proposal_waiting(act(), proposal_id)
    may_confirm = actor().person_id not in {line.first_id, line.person_id}
    may_decline = actor().person_id != line.person_id
    return render_template(
        "roles/proposal.html", line=line, form=form, may_confirm=may_confirm, may_decline=may_decline
    )


@blueprint.post("/proposals/<proposal_id>")
@policy(right=Right.MANAGE_ROLES, reauthenticates=True)
def settle(proposal_id: str) -> Any:
    """Confirm or decline it."""
    form = SettleForm()
    if not form.validate():
        return _proposal_page(proposal_id, form), 422
    do_once(lambda: _settle(proposal_id, form.answer.data == "confirm"))
    return redirect(url_for("roles.index"), code=303)


def _settle(proposal_id: str, confirmed: bool) -> str:
    if confirmed:
        return confirm_role(act(), proposal_id=proposal_id).grant_id or ""
    decline_role(act(), proposal_id=proposal_id)
    return ""


@blueprint.get("/<grant_id>/end")
@policy(right=Right.MANAGE_ROLES)
def end_form(grant_id: str) -> Any:
    """Ask once more."""
    return render_template("roles/end.html", line=role_in_force(act(), grant_id), form=EndForm())


@blueprint.post("/<grant_id>/end")
@policy(right=Right.MANAGE_ROLES, reauthenticates=True)
def end(grant_id: str) -> Any:
    """End the role now."""
    form = EndForm()
    if not form.validate():
        return render_template("roles/end.html", line=role_in_force(act(), grant_id), form=form), 422
    do_once(lambda: end_role(act(), grant_id=grant_id))
    return redirect(url_for("roles.index"), code=303)
