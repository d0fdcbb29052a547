"""The list of procedures, one procedure, and its sheet for paper."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template

from quizapp.assessment.permissions import Right, has_right
from quizapp.content.markdown_text import to_html
from quizapp.services.start_rehearsal import last_rehearsed, procedure_at_own_base
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm
from quizapp.web.markup import trusted
from quizapp.web.pages.procedures.procedure_page import (
    grouped,
    limit_rows,
    map_of,
    named_sources,
    needs_small_letters,
    pair_rows,
    step_groups,
    step_rows,
)
from quizapp.web.policy import policy

blueprint = Blueprint("procedures", __name__, template_folder="templates")


@blueprint.get("/procedures")
@policy(right=Right.REHEARSE)
def index() -> Any:
    """List every procedure, with when the person rehearsed it last."""
    procedures = tuple(edge().library.procedures.values())
    return render_template("procedures/index.html", procedures=procedures, rehearsed=last_rehearsed(act()))


@blueprint.get("/procedures/<code>")
@policy(right=Right.REHEARSE)
def show(code: str) -> Any:
    """Show one procedure as it stands for the device at the person's base."""
    doing, library = act(), edge().library
    procedure, device = procedure_at_own_base(doing, library, code)
    return render_template(
        "procedures/show.html",
        procedure=procedure,
        device=device,
        steps=step_rows(procedure),
        pairs=pair_rows(procedure),
        limits=limit_rows(procedure),
        map=map_of(procedure),
        body=trusted(to_html(procedure.body)),
        sources=named_sources(procedure.sources, library.sources),
        order_count=grouped(procedure.valid_orders),
        may_observe=has_right(doing.actor, Right.OBSERVE, doing.today),
        form=ActForm(),
    )


@blueprint.get("/procedures/<code>/sheet")
@policy(right=Right.REHEARSE)
def sheet(code: str) -> Any:
    """Show the sheet for paper, with boxes for the four marks."""
    procedure, device = procedure_at_own_base(act(), edge().library, code)
    return render_template(
        "procedures/sheet.html",
        procedure=procedure,
        device=device,
        groups=step_groups(procedure),
        is_long=needs_small_letters(procedure),
        limits=limit_rows(procedure),
        map=map_of(procedure),
    )
