"""Two assessors: both sheets side by side, what becomes of them, and how far assessors agree over many."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.assessor_agreement import agreement_of_assessor, agreement_over, step_agreement
from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.permissions import Right
from quizapp.assessment.third_assessor import PossibleThird
from quizapp.errors import BadInput
from quizapp.services.double_observations import (
    DoubleView,
    assessor_names,
    double_view,
    doubles_for_figures,
    doubles_seen,
    locked_pair,
)
from quizapp.services.settle_double_observation import settle_double_observation, thirds_for
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.observe.agreement_page import assessor_rows, figures, step_rows
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.double_page import double_finding, side_by_side, step_pairs
from quizapp.web.pages.observe.forms import SettleForm
from quizapp.web.policy import policy


@blueprint.get("/observe/doubles")
@policy(right=Right.SEE_PERSON)
def doubles() -> Any:
    """List the performances with two locked sheets that may be compared."""
    lines = doubles_seen(act())
    return render_template("observe/doubles.html", lines=lines, waiting=sum(one.needs_a_decision for one in lines))


@blueprint.get("/observe/doubles/<performance_id>")
@policy(right=Right.SEE_PERSON)
def double(performance_id: str) -> Any:
    """Show both sheets step by step."""
    return _double(double_view(act(), performance_id), SettleForm())


@blueprint.post("/observe/doubles/<performance_id>")
@policy(right=Right.DECIDE)
def settle(performance_id: str) -> Any:
    """Decide what becomes of both sheets, with a reason."""
    view, form = double_view(act(), performance_id), SettleForm()
    _offer(view, form)
    if not form.validate():
        return _double(view, form), 422
    try:
        do_once(lambda: _settle(performance_id, form))
    except BadInput as problem:
        getattr(form, problem.field).errors = [str(problem)]
        return _double(view, form), 422
    return redirect(url_for("observe.double", performance_id=performance_id), code=303)


def _settle(performance_id: str, form: SettleForm) -> str:
    return settle_double_observation(
        act(),
        library=edge().library,
        performance_id=performance_id,
        outcome=Settlement(form.outcome.data),
        stands_id=form.stands.data or "",
        third_id=form.third.data or "",
        reason=form.reason.data or "",
    )


def _offer(view: DoubleView, form: SettleForm) -> None:
    sheets = (view.first, view.second)
    form.stands.choices = [(one.id, f"The sheet of {one.assessor_name}") for one in sheets]
    thirds = thirds_for(act(), edge().library, locked_pair(act(), view.performance_id)) if view.may_settle else ()
    form.third.choices = [(one.person_id, _third_words(one)) for one in thirds]


def _third_words(one: PossibleThird) -> str:
    from_elsewhere = f", {one.elsewhere}: nobody here can, and the role is needed here first" if one.elsewhere else ""
    return f"{one.name}{from_elsewhere}; {one.watched_lately} watched in the last 90 days"


def _double(view: DoubleView, form: SettleForm) -> str:
    _offer(view, form)
    return render_template(
        "observe/double.html",
        view=view,
        finding=double_finding(view),
        steps=step_pairs(view.comparison),
        numbers=side_by_side(view),
        form=form,
    )


@blueprint.get("/observe/agreement")
@policy(right=Right.SEE_STATISTICS)
def agreement() -> Any:
    """Show how far assessors agree, over all double observations and step by step for one procedure."""
    found = doubles_for_figures(act())
    codes = sorted({one.procedure for one in found})
    asked = request.args.get("procedure", "")
    code = asked if asked in codes else next(iter(codes), "")
    procedure = edge().library.procedure(code) if code else None
    of_one = [one for one in found if one.procedure == code]
    names = assessor_names(act(), found)
    return render_template(
        "observe/agreement.html",
        overall=figures(agreement_over(found)),
        count=len(found),
        procedure=procedure,
        codes=[(one, one) for one in codes],
        steps=step_rows(procedure, step_agreement(of_one, procedure.letters)) if procedure else (),
        step_count=len(of_one),
        assessors=assessor_rows([agreement_of_assessor(found, one) for one in names], names),
    )
