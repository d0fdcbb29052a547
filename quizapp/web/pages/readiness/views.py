"""The readiness of a base, of all bases at once, and the first as a file."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response, render_template, request
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError, OperationalError

from quizapp.assessment.permissions import Right
from quizapp.errors import Busy
from quizapp.services.base_outlook import base_outlook
from quizapp.services.base_readiness import readiness_csv
from quizapp.services.keep_standings import keep_standings
from quizapp.services.whole_readiness import whole_readiness
from quizapp.store.people import Person
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.pages.readiness.readiness_page import shown_readiness
from quizapp.web.pages.readiness.whole_page import whole_finding, whole_rows
from quizapp.web.policy import policy

blueprint = Blueprint("readiness", __name__, template_folder="templates", url_prefix="/readiness")


@blueprint.get("")
@policy(right=Right.SEE_READINESS)
def show() -> Any:
    """Show one base."""
    page = base_outlook(act(), edge().library, request.args.get("base", ""))
    shown = shown_readiness(page, edge().library, act().now, act().zone)
    return render_template("readiness/show.html", page=page, shown=shown, form=ActForm())


@blueprint.get("/all")
@policy(right=Right.SEE_READINESS)
def whole() -> Any:
    """Show every base one sees, counted; what had to be worked out for it is kept for the next time."""
    page = whole_readiness(act(), edge().library)
    if page.missing:
        _keep(page.missing)
    return render_template(
        "readiness/whole.html", page=page, finding=whole_finding(page), rows=whole_rows(page), today=act().today
    )


def _keep(person_ids: tuple[str, ...]) -> None:
    """Reading goes on when nothing can be kept, on a full disk or behind a long change."""
    with suppress(OperationalError, IntegrityError, Busy), edge().database.writing() as writing:
        people = list(writing.scalars(select(Person).where(Person.id.in_(person_ids))))
        keep_standings(replace(act(), session=writing), edge().library, people)


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
