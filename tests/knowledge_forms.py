"""What tests of sittings share: an assessment composed and given out, a sitting begun, answers, and handing in."""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from sqlalchemy import select

from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from quizapp.services.record_answer import Response, SavedAnswer, record_answer
from quizapp.services.sittings_of import AskedQuestion, asked_questions
from quizapp.services.start_sitting import start_practice, start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import SittingQuestion
from tests.accepted_library import accept
from tests.small_service import SmallService

LATER = timedelta(minutes=2)
PLAIN = ("N27", "N03", "N07", "N14", "N16")
"""One of C3 and four of C5 that ask for one number in one unit: what is drawn does not change when a file is added."""


def composed(small: SmallService, library: Library, **changes: object) -> str:
    """Accept five plain families, compose a form of three questions, and give it to everybody at the first base."""
    given: dict[str, object] = {
        "title": "Autumn form",
        "parts": [Part(competency="C3", question_count=1), Part(competency="C5", question_count=2)],
        "cut": 2,
        "cut_reason": "two of three for a first look",
        "profile_code": "TV-A",
        "profile_revision": 1,
    }
    with small.acting("cleo") as act:
        accept(act, library, PLAIN)
    with small.acting("ines") as act:
        assessment_id = compose_assessment(act, library, Composition(**(given | changes)))  # type: ignore[arg-type]
        assign_assessment(act, assessment_id, base_ids=[small.base_id])
    return assessment_id


def begun(small: SmallService, library: Library, assessment_id: str) -> str:
    """Begin it as Mira."""
    with small.acting("mira") as act:
        return start_sitting(act, library, assessment_id)


def practice(small: SmallService, library: Library, family: str, *, name: str = "mira") -> str:
    """Begin a practice of one question of a family."""
    with small.acting(name) as act:
        profile = library.profile("TV-A", 1)
        return start_practice(act, library, family=family, question_count=1, profile=profile)


def questions(small: SmallService, sitting_id: str) -> list[AskedQuestion]:
    with small.acting("mira") as act:
        return asked_questions(act, sitting_id)


def refreeze(small: SmallService, sitting_id: str, change: Callable[[dict[str, Any]], None], position: int = 1) -> None:
    """Change a frozen question behind the back of the program."""
    with small.database.writing() as session:
        row = session.scalars(
            select(SittingQuestion).where(
                SittingQuestion.sitting_id == sitting_id, SittingQuestion.position == position
            )
        ).one()
        frozen = copy.deepcopy(row.frozen)
        change(frozen)
        row.frozen = frozen


def answer(
    small: SmallService, sitting_id: str, position: int, text: str, *, key: str = "", seen: int = 0,
    after: timedelta = LATER,
) -> SavedAnswer:  # fmt: skip
    """Save a number in the first blank as Mira, in the unit of the key; further blanks are answered right."""
    with small.acting("mira", at=small.now + after) as act:
        found = [one.question.blanks for one in asked_questions(act, sitting_id) if one.position == position]
        blanks = found[0] if found else ()
        sent = Response(
            texts=[text, *(blank.key_printed for blank in blanks[1:])], units=[blank.units[0] for blank in blanks]
        )
        return record_answer(
            act, sitting_id, position, sent, act_key=key or f"key-{position}-{text}-{seen:08}", seen_revision=seen
        )


def right_text(question: Question) -> str:
    return question.blanks[0].key_printed


def right_entries(one: AskedQuestion) -> dict[str, str]:
    """What to write on the page of a question that asks for numbers, to answer it right."""
    entries = {}
    for index, blank in enumerate(one.question.blanks):
        entries[f"answer_{index}"] = blank.key_printed
        entries[f"answer_{index}_unit"] = blank.units[0] if blank.asks_for_unit else ""
    return entries


def handed_in(small: SmallService, sitting_id: str) -> None:
    with small.acting("mira", at=small.now + LATER) as act:
        submit_sitting(act, sitting_id)


def evidence(small: SmallService) -> list[Evidence]:
    with small.database.reading() as session:
        return list(session.scalars(select(Evidence).order_by(Evidence.competency, Evidence.recorded_at)))
