"""Two people at the same challenge at one moment, and how much a plan asks of the database."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.challenges import ChallengeOutcome, Scope
from quizapp.assessment.corrected_key import Correction
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import Conflict
from quizapp.services.answer_challenge import prepare_answer, sign_answer
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.plan_remark import plan_remark
from quizapp.services.raise_challenge import challenge_answer
from quizapp.services.remark_keys import KeyChange
from quizapp.services.sittings_of import asked_in_sittings
from quizapp.store.challenges import Challenge, ChallengeAnswer
from quizapp.store.roles import RoleGrant
from tests.challenging import LATER, REASON, raised, sat
from tests.counted_statements import counted_statements
from tests.knowledge_forms import composed
from tests.small_service import FIRST_DAY, PASSWORD, SmallService

VOID = AnswerWanted(outcome=ChallengeOutcome.VOID, reason=REASON)


def at_once(*acts: object) -> list[object]:
    """Run each in a thread of its own, as close together as can be; return what each gave or raised."""
    start, found = threading.Barrier(len(acts)), [None] * len(acts)

    def run(place: int) -> None:
        start.wait()
        try:
            found[place] = acts[place]()  # type: ignore[operator]
        except Exception as problem:
            found[place] = problem

    threads = [threading.Thread(target=run, args=(place,)) for place in range(len(acts))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_asked_from_two_windows_there_is_one(small: SmallService, library: Library) -> None:
    sitting_id = sat(small, library, composed(small, library), ["wrong", "right", "right"])

    def ask() -> str:
        with small.acting("mira", at=small.now + LATER) as act:
            return challenge_answer(act, library, sitting_id, 1).id

    found = at_once(ask, ask, ask)
    assert len(set(found)) == 1
    assert count(small, Challenge) == 1


def count(small: SmallService, model: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_two_reviewers_at_one_moment_give_one_answer(small: SmallService, library: Library) -> None:
    with small.database.writing() as session:
        session.add(
            RoleGrant(
                id=small.randomness.new_id(), person_id=small.person_id("leif"), role=Role.EDUCATOR.value,
                base_id=small.base_id, from_day=FIRST_DAY, until_day=None, reason="test", granted_at=small.now,
            )
        )  # fmt: skip
    sitting_id = sat(small, library, composed(small, library), ["wrong", "right", "right"])
    challenge_id = raised(small, library, sitting_id, 1).id
    intents = {}
    for name in ("ines", "leif"):
        with small.acting(name, at=small.now + LATER) as act:
            intents[name] = prepare_answer(act, library, challenge_id, VOID)

    def signing(name: str) -> object:
        def run() -> str:
            with small.acting(name, at=small.now + LATER) as act:
                return sign_answer(act, library, intents[name], password=PASSWORD)

        return run

    found = at_once(signing("ines"), signing("leif"))
    assert sorted(type(one) for one in found if not isinstance(one, str)) == [Conflict]
    assert challenge_id in found
    assert count(small, ChallengeAnswer) == 1


@pytest.mark.parametrize("scope", [Scope.DRAW, Scope.FAMILY])
def test_a_plan_takes_as_many_statements_for_three_people_as_for_one(
    small_sqlite: SmallService, library: Library, scope: Scope
) -> None:
    small = small_sqlite
    form = composed(small, library)
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    change = KeyChange(outcome=ChallengeOutcome.VOID, scope=scope, correction=Correction())
    found = []
    for names in ((), ("tor", "una")):
        for name in names:
            sat(small, library, form, ["right", "right", "wrong"], name=name)
        with small.acting("ines", at=small.now + timedelta(hours=1)) as act:
            question_id = asked_in_sittings(act, [sitting_id])[sitting_id][0].id
            with counted_statements(small.database) as statements:
                plan = plan_remark(act, library, question_id, change)
        found.append((len(statements), len(plan)))
    assert found[0][0] == found[1][0]
    assert [people for _, people in found] == [1, 3]
