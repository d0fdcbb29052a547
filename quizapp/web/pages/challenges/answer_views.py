"""Answering a challenge: entered, shown with everybody it touches, signed."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.questions import Question
from quizapp.errors import BadInput, Conflict
from quizapp.services.answer_challenge import answer_intent, prepare_answer, reviewable, sign_answer
from quizapp.services.challenges_list import ChallengeSeen
from quizapp.services.remark_keys import file_is_corrected
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.challenges.blueprint import blueprint
from quizapp.web.pages.challenges.forms import AnswerForm, SignForm, answer_form
from quizapp.web.pages.challenges.shown_case import preview_finding, shown_question, touched_rows
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


@blueprint.get("/<challenge_id>/answer")
@policy(right=Right.REVIEW_CHALLENGE)
def enter(challenge_id: str) -> Any:
    """Show what was asked, and the form to answer it."""
    seen = reviewable(act(), challenge_id)
    return _answer_page(seen, _form(seen))


@blueprint.post("/<challenge_id>/answer")
@policy(right=Right.REVIEW_CHALLENGE)
def prepare(challenge_id: str) -> Any:
    """Check the answer, work out whom it touches, and go to the page on which it is signed."""
    seen = reviewable(act(), challenge_id)
    form = _form(seen)
    if not form.validate():
        return _answer_page(seen, form), 422
    try:
        intent_id = do_once(
            lambda: prepare_answer(act(), edge().library, challenge_id, form.wanted(_question(seen)))
        )  # fmt: skip
    except BadInput as fault:
        show_fault(form, fault, otherwise="reason")
        return _answer_page(seen, form), 422
    return redirect(url_for("challenges.show_signing", intent_id=intent_id), code=303)


@blueprint.get("/sign/<intent_id>")
@policy(right=Right.REVIEW_CHALLENGE)
def show_signing(intent_id: str) -> Any:
    """Show exactly what will be signed and whom it touches."""
    return _signing_page(intent_id, SignForm())


@blueprint.post("/sign/<intent_id>")
@policy(right=Right.REVIEW_CHALLENGE, reauthenticates=True)
def sign(intent_id: str) -> Any:
    """Sign it with the password in this request; everything it says is done at once."""
    form = SignForm()
    if not form.validate():
        return _signing_page(intent_id, form), 422
    try:
        challenge_id = do_once(
            lambda: sign_answer(act(), edge().library, intent_id, password=form.password.data or "")
        )  # fmt: skip
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _signing_page(intent_id, form), 422
    return redirect(url_for("challenges.show", challenge_id=challenge_id), code=303)


def _question(seen: ChallengeSeen) -> Question | None:
    return Question.from_plain(seen.shown["question"]) if seen.question_id else None


def _form(seen: ChallengeSeen) -> AnswerForm:
    question = _question(seen)
    if question is None:
        return answer_form(None)
    return answer_form(question, file_is_corrected=file_is_corrected(edge().library, question))


def _answer_page(seen: ChallengeSeen, form: AnswerForm) -> str:
    case = shown_question(seen.shown) if seen.question_id else None
    question = _question(seen)
    is_corrected = question is not None and file_is_corrected(edge().library, question)
    fields = [field for field in form if field.name.startswith(("key_", "tolerance_", "right_", "free_", "mark"))]
    return render_template(
        "challenges/answer.html", seen=seen, case=case, form=form, fields=fields, file_is_corrected=is_corrected
    )


def _signing_page(intent_id: str, form: SignForm) -> str:
    intent = answer_intent(act(), intent_id)
    statement = intent.statement
    if not isinstance(statement, dict):
        raise Conflict("What was shown cannot be read. Nothing was signed; open it again.")
    return render_template(
        "challenges/sign.html",
        intent=intent,
        statement=statement,
        finding=preview_finding(statement),
        touched=touched_rows(statement),
        form=form,
    )
