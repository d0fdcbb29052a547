"""Invented second looks at results: two that are open, one overdue, one upheld, one void; and evidence taken away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome
from quizapp.assessment.check_codes import written
from quizapp.assessment.permissions import Actor
from quizapp.cli.invented.stage import MONTHS_OF_HISTORY_DAYS, WORKING_PASSWORD, Stage
from quizapp.services.answer_challenge import prepare_answer, sign_answer
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.check_take_away import check_code
from quizapp.services.raise_challenge import challenge_answer, challenge_step
from quizapp.services.sittings_of import asked_in_sittings
from quizapp.services.take_away import take_away
from quizapp.store.challenges import Challenge
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting
from quizapp.store.take_aways import TakeAway

TODAY = MONTHS_OF_HISTORY_DAYS
LOOKED_THROUGH = 25
Scene = Callable[[], object]
NOBODY = Actor(person_id="", account_id="", name="", roles_held=())


def scenes_of_second_looks(stage: Stage) -> list[tuple[int, Scene]]:
    """Return the scenes by day; each looks for a result of the days before it."""
    dark = "The picture was too dark on the screen in the cabin to read a small mark."
    steps = "I said aloud where the needle had parked, with my back to the assessor."
    upheld = "The draw was worked again by hand, and the key is right. The worked line on the page shows the step."
    void = "Two of us could not read that picture on a cabin screen at night either, so it counts for nobody."
    return [
        (TODAY - 40, lambda: _ask_and_answer(stage, TODAY - 40, "", ChallengeOutcome.UPHELD, upheld)),
        (TODAY - 30, lambda: _ask_and_answer(stage, TODAY - 30, dark, ChallengeOutcome.VOID, void)),
        (TODAY - 18, lambda: _ask(stage, TODAY - 18, "My number is what the profile in our pack says.")),
        (TODAY - 3, lambda: _ask_about_a_step(stage, TODAY - 3, steps)),
        (TODAY - 2, lambda: _take_away(stage, TODAY - 2)),
    ]


def _ask(stage: Stage, day: int, words: str) -> str:
    """Ask about a wrong number of the newest form that has one and was not asked about."""
    moment = stage.moment(day, 19)
    with stage.database.writing() as session:
        act = stage.act(session, next(iter(stage.people)), moment)
        sittings = session.scalars(
            select(Sitting)
            .where(Sitting.submitted_at < moment, Sitting.assessment_id.is_not(None))
            .order_by(Sitting.submitted_at.desc())
            .limit(LOOKED_THROUGH)
        ).all()
        taken = set(session.scalars(select(Challenge.question_id)))
        asked = asked_in_sittings(act, [one.id for one in sittings])
        found = next(
            (sitting, one)
            for sitting in sittings
            for one in asked[sitting.id]
            if one.answer and one.question.blanks and not one.answer.grade["is_correct"] and one.id not in taken
        )
        number = session.get_one(Person, found[0].person_id).staff_number
        act = stage.act(session, number, moment)
        return challenge_answer(act, stage.library, found[0].id, found[1].position, words=words).id


def _ask_and_answer(stage: Stage, day: int, words: str, outcome: ChallengeOutcome, reason: str) -> None:
    challenge_id = _ask(stage, day, words)
    with stage.database.reading() as session:
        reviewer_id = session.get_one(Challenge, challenge_id).reviewer_id
        if reviewer_id is None:
            return
        reviewer = session.get_one(Person, reviewer_id).staff_number
    moment = stage.moment(day + 1, 11)
    wanted = AnswerWanted(outcome=outcome, reason=reason)
    with stage.acting(reviewer, moment) as act:
        intent_id = prepare_answer(act, stage.library, challenge_id, wanted)
    with stage.acting(reviewer, moment + timedelta(minutes=2)) as act:
        sign_answer(act, stage.library, intent_id, password=WORKING_PASSWORD)


def _ask_about_a_step(stage: Stage, day: int, words: str) -> None:
    moment = stage.moment(day, 18)
    with stage.database.writing() as session:
        row = session.scalars(
            select(Observation)
            .where(Observation.signature_id.is_not(None), Observation.locked_at < moment)
            .where(Observation.procedure == "P06")
            .order_by(Observation.locked_at.desc(), Observation.id)
            .limit(1)
        ).one()
        number = session.get_one(Person, row.person_id).staff_number
        challenge_step(stage.act(session, number, moment), row.id, "d", words=words)


def _take_away(stage: Stage, day: int) -> None:
    """One person takes their evidence away for another service, which looks it up twice."""
    moment = stage.moment(day, 20)
    with stage.database.writing() as session:
        row = session.scalars(select(Challenge).order_by(Challenge.raised_at, Challenge.id).limit(1)).one()
        number = session.get_one(Person, row.person_id).staff_number
        taken = session.get_one(TakeAway, take_away(stage.act(session, number, moment), stage.library))
        code = written(taken.code)
    for hours in (13, 14):
        with stage.database.writing() as session:
            act = stage.act(session, number, moment + timedelta(hours=hours))
            check_code(replace(act, actor=NOBODY), stage.library, code, address="an invented one")
