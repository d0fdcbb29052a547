"""Saves one answer: read strictly, graded against the frozen question, kept with a receipt, never overwriting."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import select

from quizapp.assessment import frozen_json
from quizapp.assessment.audit_chain import JsonValue, record_hash
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.grading import Grade, NumericAnswer, grade_numbers, grade_option, grade_order, read_blank
from quizapp.assessment.numbers import Ambiguous, Refused
from quizapp.assessment.questions import Question
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.clear_danger import clear_danger
from quizapp.services.remarked import remarked_questions
from quizapp.services.sittings_of import file_is_withdrawn, newest_answers, own_sitting, sitting_state
from quizapp.store.sittings import Answer, Sitting, SittingQuestion

GRACE = timedelta(seconds=30)
MOST_TEXT = 200
UNIT_SLIP_IN_PRACTICE = Decimal("0.5")
"""What the right number in a wrong unit is worth in practice, and nothing wherever it counts (policy, no source)."""
NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class Response:
    """What the person sent: a text and perhaps a unit for each blank, or a token of an option, or an order."""

    texts: Sequence[str] = ()
    units: Sequence[str] = ()
    option: str = ""
    order: Sequence[str] = ()


@dataclass(frozen=True, kw_only=True)
class SavedAnswer:
    """What was kept: its place, revision and receipt, and whether it came after the time ran out."""

    position: int
    revision: int
    receipt: str
    is_late: bool


def record_answer(
    act: Act, sitting_id: str, position: int, response: Response, *, act_key: str, seen_revision: int
) -> SavedAnswer:
    """Save an answer to one's own open sitting; the same `act_key` gives the same receipt again.

    seen_revision: the revision on the page the answer comes from (0: none). Raises NotFound, BadInput naming the
    field for what cannot be read (nothing is marked wrong), Conflict when the answer changed or the sitting ended.
    """
    sitting = own_sitting(act, sitting_id, to_change=True)
    row, is_withdrawn = _place(act, sitting, position)
    question = Question.from_plain(row.frozen)
    kept = _kept(question, response)
    again = act.session.scalar(select(Answer).where(Answer.question_id == row.id, Answer.act_key == act_key))
    if again is not None:
        return _same_again(again, kept, position)
    _refuse_after_the_end(act, sitting)
    if is_withdrawn:
        raise Conflict(f"Question {position} has been withdrawn and is not marked any more. Go on with the next one.")
    newest = newest_answers(act, [row.id]).get(row.id)
    revision = newest.revision if newest else 0
    if newest and revision != seen_revision:
        raise Conflict(_changed_elsewhere(question, position, newest.response, kept))
    if newest and sitting.purpose == SittingPurpose.PRACTICE:
        raise Conflict("You have seen what lies behind this answer; it stays as it is. Try a twin of the question.")
    remarked = remarked_questions(act.session, [row.id]).get(row.id)
    key = remarked.corrected if remarked and remarked.corrected else question
    grade = grade_response(sitting, position, key, response)
    if sitting.purpose == SittingPurpose.PRACTICE and grade.is_correct and row.counts_for_sign_off:
        for competency in question.competencies:
            clear_danger(act, sitting, family=question.family, competency=competency)
    return _store(act, sitting, row, kept, grade, act_key=act_key, revision=revision + 1)


def _place(act: Act, sitting: Sitting, position: int) -> tuple[SittingQuestion, bool]:
    """Return one place of a sitting, and whether its file is withdrawn now."""
    found = act.session.execute(
        select(SittingQuestion, file_is_withdrawn()).where(
            SittingQuestion.sitting_id == sitting.id, SittingQuestion.position == position
        )
    ).one_or_none()
    if found is None:
        raise NotFound("This sitting has no such question.")
    row, is_withdrawn = found
    return row, is_withdrawn


def option_token(seed: str, position: int, name: str) -> str:
    """Return the token that stands for an option on the page; it differs in every sitting."""
    return hashlib.sha256(f"{seed}|{position}|{name}".encode()).hexdigest()[:16]


def _kept(question: Question, response: Response) -> dict[str, Any]:
    """Return what is stored: of all that was sent, only what a question of this kind asks for."""
    count = len(question.blanks)
    return {
        "texts": [text[:MOST_TEXT] for text in response.texts[:count]],
        "units": [unit[:MOST_TEXT] for unit in response.units[:count]],
        "option": response.option[:MOST_TEXT] if question.options else "",
        "order": list(response.order) if question.steps else [],
    }


def _same_again(again: Answer, kept: dict[str, Any], position: int) -> SavedAnswer:
    if again.response != kept:
        raise Conflict("This page was already sent with another answer. The first one was kept; open the page again.")
    return SavedAnswer(position=position, revision=again.revision, receipt=again.receipt, is_late=again.is_late)


def _refuse_after_the_end(act: Act, sitting: Sitting) -> None:
    state = sitting_state(act, sitting)
    if state.is_handed_in:
        raise Conflict("This sitting was handed in already. The answers saved before that stand; nothing was changed.")
    if state.window_is_closed:
        raise Conflict(
            "Your educator has closed this assessment. What you saved before stands: go back and hand it in."
        )


def _changed_elsewhere(question: Question, position: int, saved: dict[str, Any], sent: dict[str, Any]) -> str:
    def words(response: dict[str, Any]) -> str:
        return " and ".join(_with_units(question, response)) or "another choice"

    return (
        f"Answer {position} was changed in another window: it says {words(saved)}, this page sent {words(sent)}. "
        "Nothing was overwritten. Open the question again to change it."
    )


def _with_units(question: Question, response: dict[str, Any]) -> list[str]:
    """Return the numbers of a response as they were written, each with its unit where one was chosen."""
    units = [*response["units"], *([""] * len(response["texts"]))]
    labels = [dict(zip(blank.units, blank.unit_labels, strict=True)) for blank in question.blanks]
    return [
        f"{text} {label.get(unit, '')}".strip() or "nothing"
        for text, unit, label in zip(response["texts"], units, labels, strict=False)
    ]


def grade_response(sitting: Sitting, position: int, question: Question, response: Response) -> Grade:
    """Grade what was sent against a question at its place in a sitting; raises BadInput for what cannot be read."""
    if question.options:
        names = {option_token(sitting.seed, position, option.name): option.name for option in question.options}
        if response.option not in names:
            raise BadInput("Choose one of the options.", field="option")
        return grade_option(question, names[response.option])
    if question.steps:
        return _grade_steps(question, response.order)
    slip = UNIT_SLIP_IN_PRACTICE if sitting.purpose == SittingPurpose.PRACTICE else NOTHING
    return grade_numbers(question, _numbers(question, response), unit_slip_credit=slip)


def _grade_steps(question: Question, order: Sequence[str]) -> Grade:
    missing = len(question.steps) - len(order)
    if missing > 0:
        steps = "One step has" if missing == 1 else f"{missing} steps have"
        raise BadInput(f"{steps} no number yet. Your order is kept: give the missing numbers, then save it.",
                       field="order")  # fmt: skip
    return grade_order(question, order)


def _numbers(question: Question, response: Response) -> list[NumericAnswer]:
    answers = []
    for index, blank in enumerate(question.blanks):
        text = response.texts[index] if index < len(response.texts) else ""
        unit = response.units[index] if index < len(response.units) else ""
        reading = read_blank(blank, text, unit)
        if isinstance(reading, Refused):
            raise BadInput(reading.message, field=f"answer_{index}")
        if isinstance(reading, Ambiguous):
            raise BadInput(
                f"{reading.message} Write {reading.as_thousands:f}, or {reading.as_decimal:f}0.",
                field=f"answer_{index}",
            )
        answers.append(reading)
    return answers


def _store(
    act: Act,
    sitting: Sitting,
    row: SittingQuestion,
    kept: dict[str, Any],
    grade: Grade,
    *,
    act_key: str,
    revision: int,
) -> SavedAnswer:
    is_late = sitting.deadline_at is not None and act.now > sitting.deadline_at + GRACE
    fields: dict[str, JsonValue] = {"question": row.id, "revision": revision, "response": kept, "late": is_late}
    receipt = record_hash(fields).hex()[:16]
    answer = Answer(
        id=act.randomness.new_id(),
        question_id=row.id,
        revision=revision,
        act_key=act_key,
        response=kept,
        grade=frozen_json.to_plain(grade),
        is_late=is_late,
        answered_at=act.now,
        receipt=receipt,
    )
    act.session.add(answer)
    record(
        act, AuditEvent.ANSWER_SAVED, "answer", answer.id,
        person_id=act.actor.person_id, thing=row.family, after={"revision": revision, "receipt": receipt},
    )  # fmt: skip
    return SavedAnswer(position=row.position, revision=revision, receipt=receipt, is_late=is_late)
