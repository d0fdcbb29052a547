"""What tests of challenges share: people who met the same question, a challenge raised, an answer signed."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Scope
from quizapp.assessment.corrected_key import CorrectedBlank, Correction
from quizapp.assessment.families import Danger
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.answer_challenge import prepare_answer, sign_answer
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.raise_challenge import Raised, challenge_answer
from quizapp.services.record_answer import Response, record_answer
from quizapp.services.start_sitting import start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting, SittingQuestion
from tests.small_service import PASSWORD, SmallService

LATER = timedelta(minutes=2)
REASON = "The file took the wrong column of the table."


def sat(
    small: SmallService, library: Library, assessment_id: str, texts: Sequence[str], *, name: str = "mira",
    hand_in: bool = True,
) -> str:  # fmt: skip
    """Begin the form with the questions Mira was asked first, answer their first blanks so, and hand in."""
    with small.acting(name) as act:
        sitting_id = start_sitting(act, library, assessment_id)
    _ask_the_same(small, assessment_id, sitting_id)
    for position, text in enumerate(texts, start=1):
        say(small, sitting_id, position, text, name=name)
    if hand_in:
        with small.acting(name, at=small.now + LATER) as act:
            submit_sitting(act, sitting_id)
    return sitting_id


def _ask_the_same(small: SmallService, assessment_id: str, sitting_id: str) -> None:
    """Give everybody who sits this form the very same draws as whoever sat it first."""
    with small.database.writing() as session:
        rows = list(
            session.scalars(
                select(SittingQuestion)
                .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
                .where(Sitting.assessment_id == assessment_id)
                .order_by(Sitting.started_at, SittingQuestion.id)
            )
        )
        first = {row.position: row for row in rows if row.sitting_id == rows[0].sitting_id}
        for row in rows:
            if row.sitting_id == sitting_id != rows[0].sitting_id:
                like = first[row.position]
                row.family, row.competency, row.content_hash = like.family, like.competency, like.content_hash
                row.frozen = copy.deepcopy(like.frozen)


def say(small: SmallService, sitting_id: str, position: int, text: str, *, name: str = "mira") -> None:
    """Answer the first blank of a question with a number; "right" and "wrong" find one by the key."""
    with small.acting(name, at=small.now + LATER) as act:
        row = act.session.scalars(
            select(SittingQuestion).where(
                SittingQuestion.sitting_id == sitting_id, SittingQuestion.position == position
            )
        ).one()
        question = Question.from_plain(row.frozen)
        record_answer(
            act, sitting_id, position, response_to(question, text), act_key=f"say-{name}-{sitting_id[-6:]}-{position}",
            seen_revision=0,
        )  # fmt: skip


def response_to(question: Question, text: str) -> Response:
    blank = question.blanks[0]
    said = {"right": blank.key_printed, "wrong": other_number(question)}.get(text, text)
    return Response(
        texts=[said, *(one.key_printed for one in question.blanks[1:])],
        units=[one.units[0] for one in question.blanks],
    )


def other_number(question: Question) -> str:
    """A whole number that is neither the key nor dangerous: far below where too high is dangerous, else far above."""
    blank = question.blanks[0]
    away = 40 * blank.tolerance + 7
    number = blank.key / 3 if blank.danger is Danger.TOO_HIGH else blank.key + away
    return f"{number.quantize(Decimal(1)):f}"


def question_at(small: SmallService, sitting_id: str, position: int) -> Question:
    with small.database.reading() as session:
        row = session.scalars(
            select(SittingQuestion).where(
                SittingQuestion.sitting_id == sitting_id, SittingQuestion.position == position
            )
        ).one()
        return Question.from_plain(row.frozen)


def number_corrected(question: Question, key: str) -> Correction:
    """The first blank's key put right; the other blanks as they were."""
    first, *rest = question.blanks
    return Correction(
        blanks=(
            CorrectedBlank(name=first.name, key=Decimal(key), tolerance=first.tolerance),
            *(CorrectedBlank(name=one.name, key=one.key, tolerance=one.tolerance) for one in rest),
        )
    )


def raised(
    small: SmallService, library: Library, sitting_id: str, position: int, *, name: str = "mira", words: str = ""
) -> Raised:
    with small.acting(name, at=small.now + LATER) as act:
        return challenge_answer(act, library, sitting_id, position, words=words)


def answered(
    small: SmallService, library: Library, challenge_id: str, outcome: ChallengeOutcome, *, by: str = "ines",
    scope: Scope = Scope.DRAW, correction: Correction | None = None, mark: str = "",
    after: timedelta = timedelta(hours=1),
) -> str:  # fmt: skip
    """Prepare and sign an answer to a challenge."""
    wanted = AnswerWanted(outcome=outcome, reason=REASON, scope=scope, correction=correction or Correction(), mark=mark)
    with small.acting(by, at=small.now + after) as act:
        intent_id = prepare_answer(act, library, challenge_id, wanted)
    with small.acting(by, at=small.now + after) as act:
        return sign_answer(act, library, intent_id, password=PASSWORD)


def evidence_of(small: SmallService, name: str) -> list[Evidence]:
    """All rows of evidence of a person, replaced ones too, oldest first."""
    with small.database.reading() as session:
        return list(
            session.scalars(
                select(Evidence).where(Evidence.person_id == small.person_id(name)).order_by(Evidence.recorded_at)
            )
        )
