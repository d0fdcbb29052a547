"""The practice page: what is worth five minutes today, and whatever else one likes to practise."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.practice_choices import practice_choices
from quizapp.services.practice_today import practice_today
from quizapp.services.start_sitting import start_practice
from quizapp.web.components.competence_chart import believed_words
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.practice.forms import PracticeForm
from quizapp.web.policy import policy

blueprint = Blueprint("practice", __name__, template_folder="templates", url_prefix="/practice")


def _form() -> PracticeForm:
    form = PracticeForm(competency=request.args.get("competency", ""))
    choices = practice_choices(act(), edge().library)
    form.competency.choices = [(one.code, f"{one.code} {one.title}") for one in choices]
    return form


def _page(form: PracticeForm) -> str:
    plan = practice_today(act(), edge().library)
    return render_template("practice/show.html", form=form, plan=plan, today_form=ActForm(), believed=believed_words)


@blueprint.get("")
@policy(right=Right.PRACTISE)
def show() -> Any:
    """Show what can be practised, and what gains most today."""
    return _page(_form())


@blueprint.post("")
@policy(right=Right.PRACTISE)
def begin() -> Any:
    """Begin a practice."""
    form = _form()
    if not form.validate():
        return _page(form), 422
    started = do_once(
        lambda: start_practice(
            act(), edge().library, competency=form.competency.data, question_count=int(form.question_count.data)
        )
    )
    return redirect(url_for("sitting.question", sitting_id=started, position="1"), code=303)


@blueprint.post("/today")
@policy(right=Right.PRACTISE)
def begin_today() -> Any:
    """Begin what gains most today; where nothing is due any more, show the page again."""
    form = ActForm()
    if not form.validate():
        return _page(_form()), 422
    plan = practice_today(act(), edge().library)
    started = do_once(lambda: start_practice(act(), edge().library, parts=plan.parts) if plan.items else "")
    if not started:
        return redirect(url_for("practice.show"), code=303)
    return redirect(url_for("sitting.question", sitting_id=started, position="1"), code=303)
