"""Asking for a result to be looked at again, and finding what became of it."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.services.challenge_reviewers import educators_elsewhere
from quizapp.services.challenges_list import (
    ChallengeSeen,
    answered_challenges,
    challenge_seen,
    open_challenges,
    own_challenges,
)
from quizapp.services.observation_sheet import sheet_of
from quizapp.services.raise_challenge import (
    answer_to_challenge,
    challenge_answer,
    challenge_of_answer,
    challenge_step,
    observation_to_challenge,
    shown_answer,
)
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.challenges import answer_views
from quizapp.web.pages.challenges.blueprint import blueprint
from quizapp.web.pages.challenges.forms import AskForm, AskStepForm
from quizapp.web.pages.challenges.shown_case import shown_question
from quizapp.web.policy import policy
from quizapp.web.position import position_from

__all__ = ["answer_views", "blueprint"]


@blueprint.get("")
@policy(right=Right.REVIEW_CHALLENGE)
def index() -> Any:
    """List the open challenges of the educator's bases, overdue first."""
    return render_template(
        "challenges/index.html", rows=open_challenges(act()), answered=answered_challenges(act()), today=act().today
    )


@blueprint.get("/own")
@policy(right=Right.CHALLENGE)
def own() -> Any:
    """List what the person asked about."""
    return render_template("challenges/own.html", rows=own_challenges(act()))


@blueprint.get("/answer/<sitting_id>/<position>")
@policy(right=Right.CHALLENGE)
def ask(sitting_id: str, position: str) -> Any:
    """Show what goes with the challenge, and a place for one's own words."""
    number = position_from(position)
    earlier = challenge_of_answer(act(), sitting_id, number)
    if earlier:
        return redirect(url_for("challenges.show", challenge_id=earlier), code=303)
    return _ask_page(sitting_id, number, AskForm())


@blueprint.post("/answer/<sitting_id>/<position>")
@policy(right=Right.CHALLENGE)
def send(sitting_id: str, position: str) -> Any:
    """Send it; the person sees at once who answers and until when."""
    form, number = AskForm(), position_from(position)
    if not form.validate():
        return _ask_page(sitting_id, number, form), 422
    raised_id = do_once(
        lambda: challenge_answer(act(), edge().library, sitting_id, number, words=form.words.data or "").id
    )
    return redirect(url_for("challenges.show", challenge_id=raised_id), code=303)


@blueprint.get("/observation/<observation_id>")
@policy(right=Right.CHALLENGE)
def ask_step(observation_id: str) -> Any:
    """Show the marks of one's own observation, to choose one."""
    return _ask_step_page(observation_id, _step_form(observation_id))


@blueprint.post("/observation/<observation_id>")
@policy(right=Right.CHALLENGE)
def send_step(observation_id: str) -> Any:
    """Send it about one step."""
    form = _step_form(observation_id)
    if not form.validate():
        return _ask_step_page(observation_id, form), 422
    raised_id = do_once(
        lambda: challenge_step(act(), observation_id, form.step.data or "", words=form.words.data or "").id
    )
    return redirect(url_for("challenges.show", challenge_id=raised_id), code=303)


@blueprint.get("/<challenge_id>")
@policy(right=Right.CHALLENGE)
def show(challenge_id: str) -> Any:
    """Show one challenge to its person, or to an educator of its base."""
    seen = challenge_seen(act(), challenge_id)
    return render_template(
        "challenges/show.html",
        seen=seen,
        finding=_finding(seen),
        case=shown_question(seen.shown) if seen.question_id else None,
        elsewhere=_elsewhere(seen),
        may_answer=_may_answer(seen),
    )


def _ask_page(sitting_id: str, number: int, form: AskForm) -> str:
    sitting, asked = answer_to_challenge(act(), sitting_id, number)
    case = shown_question(shown_answer(sitting, asked))
    return render_template("challenges/ask.html", sitting=sitting, asked=asked, case=case, form=form)


def _step_form(observation_id: str) -> AskStepForm:
    sheet = sheet_of(act(), observation_to_challenge(act(), observation_id))
    form = AskStepForm()
    form.step.choices = [
        (letter, f"{letter}, {sheet.procedure.step(letter).text}: {mark.value.replace('_', ' ')}")
        for letter, mark in sheet.result.marks
    ]
    return form


def _ask_step_page(observation_id: str, form: AskStepForm) -> str:
    sheet = sheet_of(act(), observation_to_challenge(act(), observation_id))
    return render_template("challenges/ask_step.html", sheet=sheet, form=form)


def _finding(seen: ChallengeSeen) -> str:
    line = seen.line
    if line.outcome is not None:
        return f"{line.answered_by} looked at it again: {line.outcome.words}."
    late = ", which has passed" if line.is_overdue else ""
    day = f"{line.due_on.day} {line.due_on:%B %Y}"
    if not line.reviewer_name:
        return f"Nobody at {line.base_name} may answer this one, and it is due by {day}{late}."
    whom = "You answer" if line.is_mine else f"{line.reviewer_name} answers"
    return f"{whom} by {day}{late}."


def _elsewhere(seen: ChallengeSeen) -> tuple[str, ...]:
    """Name who could be asked to hold the educator's role here, where nobody at the base may answer."""
    if seen.line.outcome is not None or seen.line.reviewer_name:
        return ()
    return educators_elsewhere(act(), person_id=seen.person_id, apart_ids=frozenset(seen.apart_ids))


def _may_answer(seen: ChallengeSeen) -> bool:
    is_open = seen.line.outcome is None and not seen.line.refusal
    return is_open and has_right(act().actor, Right.REVIEW_CHALLENGE, act().today, seen.base_id)
