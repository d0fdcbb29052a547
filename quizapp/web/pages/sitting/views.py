"""The pages of a sitting."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.released import is_released
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.ideas_that_came_back import ideas_that_came_back
from quizapp.services.record_answer import Response, record_answer
from quizapp.services.remarked import by_corrected_key, remarked_questions, remarks_of_sitting, void_among
from quizapp.services.sittings_of import AskedQuestion, asked_questions, own_sitting, sitting_state
from quizapp.services.start_sitting import start_practice, start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.sittings import Sitting
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once, sent_act_key
from quizapp.web.pages.sitting.forms import (
    AnswerForm,
    PlainForm,
    is_still_ordering,
    revision_from,
    sent_response,
)
from quizapp.web.pages.sitting.question_page import shown_question
from quizapp.web.pages.sitting.result_page import shown_result
from quizapp.web.pages.sitting.why_page import shown_why
from quizapp.web.policy import policy
from quizapp.web.position import position_from

blueprint = Blueprint("sitting", __name__, template_folder="templates", url_prefix="/sitting")


@blueprint.post("/begin/<assessment_id>")
@policy(right=Right.SIT)
def begin(assessment_id: str) -> Any:
    """Begin the assigned assessment, or go on where it was left."""
    sitting_id = start_sitting(act(), edge().library, assessment_id)
    return redirect(url_for("sitting.show", sitting_id=sitting_id), code=303)


@blueprint.get("/<sitting_id>")
@policy(right=Right.SIT)
def show(sitting_id: str) -> Any:
    """Go to the first question without an answer, else to the end."""
    sitting = own_sitting(act(), sitting_id)
    if sitting.submitted_at is not None:
        return redirect(url_for("sitting.result", sitting_id=sitting_id))
    if sitting_state(act(), sitting).window_is_closed:
        return redirect(url_for("sitting.end", sitting_id=sitting_id))
    return redirect(_next_address(sitting, asked_questions(act(), sitting_id)))


@blueprint.get("/<sitting_id>/<position>")
@policy(right=Right.SIT)
def question(sitting_id: str, position: str) -> Any:
    """Show one question with the answer saved so far."""
    sitting, asked, all_asked = _find(sitting_id, position)
    if _is_closed(sitting, asked):
        return redirect(url_for("sitting.why", sitting_id=sitting_id, position=position))
    if sitting_state(act(), sitting).window_is_closed:
        return redirect(url_for("sitting.end", sitting_id=sitting_id))
    if asked.is_withdrawn:
        following = _next_address(sitting, all_asked, after=asked.position)
        return render_template("sitting/withdrawn.html", sitting=sitting, asked=asked, following=following)
    form = AnswerForm(revision=str(asked.answer.revision if asked.answer else 0))
    return _question_page(sitting, asked, all_asked, form)


@blueprint.post("/<sitting_id>/<position>")
@policy(right=Right.SIT)
def save(sitting_id: str, position: str) -> Any:
    """Save the answer and go on; what cannot be read stays on the page with what to write."""
    sitting, asked, all_asked = _find(sitting_id, position)
    form, key, sent = AnswerForm(), sent_act_key(), sent_response(asked.question)
    if is_still_ordering(asked.question):
        return _question_page(sitting, asked, all_asked, form, sent)
    try:
        record_answer(
            act(), sitting_id, asked.position, sent, act_key=key, seen_revision=revision_from(form.revision.data)
        )
    except BadInput as error:
        return _question_page(sitting, asked, all_asked, form, sent, error), 422
    if sitting.purpose == SittingPurpose.PRACTICE:
        return redirect(url_for("sitting.why", sitting_id=sitting_id, position=position), code=303)
    return redirect(_next_address(sitting, asked_questions(act(), sitting_id), after=asked.position), code=303)


@blueprint.get("/<sitting_id>/<position>/why")
@policy(right=Right.SIT)
def why(sitting_id: str, position: str) -> Any:
    """Show what lies behind an answer, once it can no longer be changed."""
    sitting, asked, all_asked = _find(sitting_id, position)
    if not _is_closed(sitting, asked):
        raise NotFound("What lies behind an answer opens once the sitting is handed in.")
    if not is_released(sitting_state(act(), sitting), asked.question.use, is_answered=asked.answer is not None):
        return render_template("sitting/waits.html", sitting=sitting, asked=asked)
    remark = remarked_questions(act().session, [asked.id]).get(asked.id)
    page = shown_why(sitting, by_corrected_key(asked, remark), all_asked)
    return render_template("sitting/why.html", sitting=sitting, page=page, remark=remark, form=PlainForm())


@blueprint.post("/<sitting_id>/<position>/twin")
@policy(right=Right.PRACTISE)
def twin(sitting_id: str, position: str) -> Any:
    """Begin a practice with the same family and new numbers."""
    sitting, asked, _all = _find(sitting_id, position)
    family, library = asked.question.family, edge().library
    profile = library.profile(sitting.profile_code, sitting.profile_revision)
    started = do_once(lambda: start_practice(act(), library, family=family, question_count=1, profile=profile))
    return redirect(url_for("sitting.question", sitting_id=started, position="1"), code=303)


@blueprint.get("/<sitting_id>/end")
@policy(right=Right.SIT)
def end(sitting_id: str) -> Any:
    """Show what was answered and what not, before handing in."""
    sitting = own_sitting(act(), sitting_id)
    if sitting.submitted_at is not None:
        return redirect(url_for("sitting.result", sitting_id=sitting_id))
    asked = asked_questions(act(), sitting_id)
    counted = [one for one in asked if not one.is_withdrawn]
    return render_template(
        "sitting/end.html",
        sitting=sitting,
        asked=asked,
        counted=len(counted),
        missing=[one.position for one in counted if one.answer is None],
        is_over=sitting_state(act(), sitting).window_is_closed,
        form=PlainForm(),
    )


@blueprint.post("/<sitting_id>/end")
@policy(right=Right.SIT)
def hand_in(sitting_id: str) -> Any:
    """Hand the sitting in; a second time changes nothing."""
    submit_sitting(act(), sitting_id)
    return redirect(url_for("sitting.result", sitting_id=sitting_id), code=303)


@blueprint.get("/<sitting_id>/result")
@policy(right=Right.SIT)
def result(sitting_id: str) -> Any:
    """Show the result and every answer."""
    sitting = own_sitting(act(), sitting_id)
    if sitting.submitted_at is None:
        raise Conflict("This sitting is still open. Hand it in first; every answer is saved.")
    asked = asked_questions(act(), sitting_id)
    came_back = ideas_that_came_back(act(), edge().library, asked)
    page = shown_result(sitting, asked, sitting_state(act(), sitting), came_back, void_among(act().session, asked))
    return render_template(
        "sitting/result.html", sitting=sitting, page=page, remarks=remarks_of_sitting(act().session, sitting_id)
    )


def _find(sitting_id: str, position: str) -> tuple[Sitting, AskedQuestion, list[AskedQuestion]]:
    number = position_from(position)
    sitting = own_sitting(act(), sitting_id)
    asked = asked_questions(act(), sitting_id)
    if number > len(asked):
        raise NotFound("This sitting has no such question.")
    return sitting, asked[number - 1], asked


def _is_closed(sitting: Sitting, asked: AskedQuestion) -> bool:
    answered_in_practice = sitting.purpose == SittingPurpose.PRACTICE and asked.answer is not None
    return sitting.submitted_at is not None or answered_in_practice


def _next_address(sitting: Sitting, asked: list[AskedQuestion], after: int = 0) -> str:
    waiting = [one.position for one in asked if one.answer is None and not one.is_withdrawn]
    later = [position for position in waiting if position > after] or waiting
    if not later:
        return url_for("sitting.end", sitting_id=sitting.id)
    return url_for("sitting.question", sitting_id=sitting.id, position=str(later[0]))


def _question_page(
    sitting: Sitting,
    asked: AskedQuestion,
    all_asked: list[AskedQuestion],
    form: AnswerForm,
    sent: Response | None = None,
    error: BadInput | None = None,
) -> str:
    given = [(one.answer.answered_at, one.position, one.answer) for one in all_asked if one.answer is not None]
    message, field = (str(error), error.field) if error else ("", "")
    page = shown_question(sitting, asked, len(all_asked), sent=sent, error=message, field=field)
    last = max(given, key=lambda one: one[:2], default=None)
    return render_template("sitting/question.html", sitting=sitting, page=page, form=form, last=last)
