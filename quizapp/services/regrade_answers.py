"""Grades answers again by a corrected key: a new revision of the answer, the old one kept, and never a worse grade."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizapp.assessment import frozen_json
from quizapp.assessment.audit_chain import JsonValue, record_hash
from quizapp.assessment.challenges import Effect
from quizapp.assessment.corrected_key import better_grade
from quizapp.assessment.grading import Grade
from quizapp.assessment.questions import Question
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.record_answer import Response, grade_response
from quizapp.services.remarked import Remarked
from quizapp.services.sittings_of import AskedQuestion, GivenAnswer
from quizapp.store.sittings import Answer, Sitting


def regraded(sitting: Sitting, asked: AskedQuestion, corrected: Question) -> tuple[Grade, Effect] | None:
    """Return the grade that counts by a corrected key and what it does; None for a question left open."""
    if asked.answer is None:
        return None
    before = frozen_json.from_plain(Grade, asked.answer.grade)
    try:
        after = grade_response(sitting, asked.position, corrected, Response(**asked.answer.response))
    except BadInput:
        return before, Effect.SAME
    return better_grade(before, after)


def store_grade(act: Act, asked: AskedQuestion, answer: GivenAnswer, grade: Grade, *, reference: str) -> None:
    """Keep a new grade as the next revision of an answer; `reference` is the id of what it comes from."""
    revision = answer.revision + 1
    plain = frozen_json.to_plain(grade)
    fields: dict[str, JsonValue] = {"question": asked.id, "revision": revision, "grade": plain, "by": reference}
    act.session.add(
        Answer(
            id=act.randomness.new_id(),
            question_id=asked.id,
            revision=revision,
            act_key=f"remark-{reference}",
            response=answer.response,
            grade=plain,
            is_late=answer.is_late,
            answered_at=answer.answered_at,
            receipt=record_hash(fields).hex()[:16],
        )
    )


def regrade_by_corrected_keys(
    act: Act, sitting: Sitting, asked: Sequence[AskedQuestion], remarked: Mapping[str, Remarked]
) -> bool:
    """Grade the answers of a sitting about to be handed in by the keys corrected meanwhile; tell whether any rose."""
    has_risen = False
    for one in asked:
        corrected = remarked[one.id].corrected if one.id in remarked else None
        again = regraded(sitting, one, corrected) if corrected else None
        if again is not None and one.answer is not None and again[1] is Effect.RAISED:
            store_grade(act, one, one.answer, again[0], reference=sitting.id)
            has_risen = True
    return has_risen
