"""The version in force, every version, and what each changed."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template, request

from quizapp.assessment.permissions import Right, has_right
from quizapp.services.draft_standard import open_draft_id
from quizapp.services.standard_versions import standard_version, standards_listed
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.pages.standard.standard_page import shown_terms
from quizapp.web.policy import policy

blueprint = Blueprint("standard", __name__, template_folder="templates", url_prefix="/standard")


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> Any:
    """Show what is in force today and all versions."""
    listed = standards_listed(act())
    may_draft = has_right(act().actor, Right.SET_STANDARD, act().today)
    return render_template(
        "standard/show.html",
        listed=listed,
        terms=shown_terms(listed.in_force.standard, edge().library) if listed.in_force else None,
        may_draft=may_draft,
        draft_id=open_draft_id(act()) if may_draft else None,
        signed=request.args.get("signed", ""),
        form=ActForm(),
    )


@blueprint.get("/version/<standard_id>")
@policy(right=Right.SEE_OWN_RECORD)
def version(standard_id: str) -> Any:
    """Show one version and what it changed."""
    one = standard_version(act(), standard_id)
    return render_template("standard/version.html", one=one, terms=shown_terms(one.standard, edge().library))
