"""The readiness of a base, and the same as a file."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, render_template, request

from quizapp.assessment.permissions import Right
from quizapp.services.base_readiness import base_readiness, readiness_csv
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.pages.readiness.readiness_page import shown_readiness
from quizapp.web.policy import policy

blueprint = Blueprint("readiness", __name__, template_folder="templates", url_prefix="/readiness")


@blueprint.get("")
@policy(right=Right.SEE_READINESS)
def show() -> Any:
    """Show one base."""
    page = base_readiness(act(), edge().library, request.args.get("base", ""))
    shown = shown_readiness(page, edge().library)
    return render_template("readiness/show.html", page=page, shown=shown, form=ActForm())


@blueprint.post("/csv")
@policy(right=Right.SEE_READINESS)
def csv() -> Any:
    """Give the same as CSV; the export is noted."""
    base_id = request.form.get("base", "")
    text = readiness_csv(act(), edge().library, base_id)
    name = f"readiness-{act().today.isoformat()}.csv"
    return Response(
        text.encode("utf-8"),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
