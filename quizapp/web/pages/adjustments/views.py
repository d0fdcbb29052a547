"""Setting and ending adjustments, and reading one's own."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.sitting_adjustments import adjusted_person, adjustments_of, end_adjustment, set_adjustment
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.adjustments.forms import AdjustmentForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("adjustments", __name__, template_folder="templates", url_prefix="/adjustments")


@blueprint.get("/mine")
@policy(right=Right.SEE_OWN_RECORD)
def mine() -> Any:
    """Show one's own adjustments."""
    return render_template("adjustments/mine.html", lines=adjustments_of(act(), act().actor.person_id))


@blueprint.get("/<person_id>")
@policy(right=Right.ADJUST_SITTING)
def show(person_id: str) -> Any:
    """Show a person's adjustments and the form for another."""
    return _page(person_id, AdjustmentForm(from_day=act().today))


@blueprint.post("/<person_id>")
@policy(right=Right.ADJUST_SITTING)
def add(person_id: str) -> Any:
    """Set an adjustment."""
    form = AdjustmentForm()
    if form.validate():
        try:
            do_once(lambda: set_adjustment(act(), person_id=person_id, wanted=form.wanted()))
            return redirect(url_for("adjustments.show", person_id=person_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="extra_time")
    return _page(person_id, form), 422


@blueprint.post("/end/<adjustment_id>")
@policy(right=Right.ADJUST_SITTING)
def end(adjustment_id: str) -> Any:
    """End an adjustment now."""
    ActForm().validate()
    person_id = do_once(lambda: end_adjustment(act(), adjustment_id=adjustment_id))
    return redirect(url_for("adjustments.show", person_id=person_id), code=303)


def _page(person_id: str, form: AdjustmentForm) -> str:
    person = adjusted_person(act(), person_id)
    lines = adjustments_of(act(), person_id)
    return render_template("adjustments/show.html", person=person, lines=lines, form=form, plain=ActForm())
