"""A rehearsal from start to compare; every button is a plain form, and the script only saves page loads."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.finish_rehearsal import finish_rehearsal, result_of
from quizapp.services.start_rehearsal import RehearsalView, own_rehearsal, start_rehearsal
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.rehearsal.placing import critical_times, letter_times, letters_of, shown_steps
from quizapp.web.placing import changed_order, read_order
from quizapp.web.policy import policy

blueprint = Blueprint("rehearsal", __name__, template_folder="templates")


@blueprint.post("/rehearsal")
@policy(right=Right.REHEARSE)
def start() -> Any:
    """Shuffle the steps of a procedure and show them."""
    code, is_timed = request.form.get("procedure", ""), "timed" in request.form
    rehearsal_id = do_once(
        lambda: start_rehearsal(act(), library=edge().library, procedure_code=code, is_timed=is_timed)
    )
    return redirect(url_for("rehearsal.show", rehearsal_id=rehearsal_id), code=303)


@blueprint.get("/rehearsal/<rehearsal_id>")
@policy(right=Right.REHEARSE)
def show(rehearsal_id: str) -> Any:
    """Show the shuffled steps, or once it is finished how the order given compares."""
    rehearsal = own_rehearsal(act(), rehearsal_id)
    return _placing(rehearsal, []) if rehearsal.finished_at is None else _compared(rehearsal)


@blueprint.post("/rehearsal/<rehearsal_id>")
@policy(right=Right.REHEARSE)
def place(rehearsal_id: str) -> Any:
    """Take one button: a number given or taken back, a step moved, all cleared, or compare."""
    rehearsal = own_rehearsal(act(), rehearsal_id)
    count = len(rehearsal.shown_order)
    order = read_order(request.form.get("order", ""), count)
    if "compare" not in request.form:
        return _placing(rehearsal, changed_order(order, request.form, count))
    try:
        do_once(lambda: _finish(rehearsal, order))
    except BadInput:
        return _placing(rehearsal, order, problem=_missing(count - len(order))), 422
    return redirect(url_for("rehearsal.show", rehearsal_id=rehearsal_id), code=303)


def _finish(rehearsal: RehearsalView, order: list[str]) -> bool:
    times = letter_times(rehearsal, request.form.get("times", ""))
    result = finish_rehearsal(
        act(), rehearsal_id=rehearsal.id, given=letters_of(rehearsal, order), taken_after_ms=times
    )
    return result.accepted


def _missing(count: int) -> str:
    steps = "One step has" if count == 1 else f"{count} steps have"
    return f"{steps} no number yet. Your order is kept: give the missing numbers, then compare."


def _placing(rehearsal: RehearsalView, order: list[str], *, problem: str = "") -> str:
    return render_template(
        "rehearsal/place.html",
        rehearsal=rehearsal,
        procedure=rehearsal.procedure,
        steps=shown_steps(rehearsal),
        order=order,
        times=request.form.get("times", "")[:400],
        problem=problem,
        form=ActForm(),
    )


def _compared(rehearsal: RehearsalView) -> str:
    result = result_of(rehearsal)
    return render_template(
        "rehearsal/compare.html",
        rehearsal=rehearsal,
        procedure=rehearsal.procedure,
        result=result,
        times=critical_times(rehearsal),
        given=[
            (rehearsal.procedure.step(letter), letter in result.order.consistent) for letter in rehearsal.given_order
        ],
        form=ActForm(),
    )
