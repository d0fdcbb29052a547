"""A plan of places: worked out, one place moved, published."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.place_plans import move_in_plan, move_shown, plan_shown, propose_plan, publish_plan
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.places.blueprint import blueprint
from quizapp.web.pages.places.forms import MoveForm, PublishForm
from quizapp.web.pages.places.plan_page import OUT, laid_out, laid_out_move
from quizapp.web.policy import policy


@blueprint.post("/plan")
@policy(right=Right.PLAN_PLACES)
def propose() -> Any:
    """Work out who gets which place; nothing is booked."""
    plan_id = do_once(lambda: propose_plan(act(), edge().library))
    return redirect(url_for("places.plan", plan_id=plan_id), code=303)


@blueprint.get("/plan/<plan_id>")
@policy(right=Right.PLAN_PLACES)
def plan(plan_id: str) -> Any:
    """Show a plan with those left out, why, and the smallest thing that would help."""
    shown = plan_shown(act(), edge().library, plan_id)
    form = PublishForm(digest=shown.digest)
    return render_template("places/plan.html", page=laid_out(shown), shown=shown, form=form, again=ActForm())


@blueprint.post("/plan/<plan_id>/publish")
@policy(right=Right.PLAN_PLACES)
def publish(plan_id: str) -> Any:
    """Book every place of the plan as it was shown, and tell its people."""
    digest = request.form.get("digest", "")
    do_once(lambda: publish_plan(act(), edge().library, plan_id, digest=digest))
    return redirect(url_for("places.index"), code=303)


@blueprint.get("/plan/<plan_id>/move/<person_id>")
@policy(right=Right.PLAN_PLACES)
def plan_move_form(plan_id: str, person_id: str) -> Any:
    """Show the days one person could have, and the effect of the one chosen."""
    to = request.args.get("to")
    shown = plan_shown(act(), edge().library, plan_id)
    effect = move_shown(act(), edge().library, plan_id, person_id, "" if to == OUT else to)
    return render_template(
        "places/plan_move.html",
        page=laid_out_move(shown, effect, to),
        plan_id=plan_id,
        person_id=person_id,
        to=to,
        form=MoveForm(to=to),
    )


@blueprint.post("/plan/<plan_id>/move/<person_id>")
@policy(right=Right.PLAN_PLACES)
def plan_move(plan_id: str, person_id: str) -> Any:
    """Save the move in the plan."""
    to = request.form.get("to", "").replace(OUT, "")
    do_once(lambda: move_in_plan(act(), edge().library, plan_id, person_id, to))
    return redirect(url_for("places.plan", plan_id=plan_id), code=303)
