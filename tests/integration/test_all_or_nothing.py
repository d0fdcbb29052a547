"""The n-th statement of a writing act fails, for every n and at the commit: nothing of it is left, and it works after.

On both databases. What the database holds is compared table by table, row by row.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy import event, select

from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.services.accounts import invite
from quizapp.services.act import Act
from quizapp.services.close_assessment import close_assessment
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.lock_observation import lock_observation
from quizapp.services.people import leave_person
from quizapp.services.record_answer import Response, record_answer
from quizapp.services.record_observation_events import record_observation_events
from quizapp.services.sealing import Sealer
from quizapp.services.second_factor import begin_second_factor
from quizapp.services.sign_decision import prepare_decision, sign_decision
from quizapp.services.start_sitting import start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.store import Record
from quizapp.store.database import Database
from tests.answering import answer_with
from tests.deciding import REASON, show, with_standard
from tests.knowledge_forms import begun, composed, questions
from tests.observing import Phone, opened, performed, put_in_service
from tests.small_service import PASSWORD, SmallService


class BrokenLine(Exception):
    """The connection to the database broke."""


@contextmanager
def breaking_at(database: Database, statement: int) -> Iterator[list[int]]:
    """The statement of this number fails before it is sent; the number after the last one is the commit."""
    counted = [0]

    def note(*_arguments: Any, **_options: Any) -> None:
        if counted[0] == statement:
            counted[0] += 1
            raise BrokenLine
        counted[0] += 1

    for name in ("before_cursor_execute", "commit"):
        event.listen(database.engine, name, note)
    try:
        yield counted
    finally:
        for name in ("before_cursor_execute", "commit"):
            event.remove(database.engine, name, note)


def everything(small: SmallService) -> dict[str, list[tuple[object, ...]]]:
    with small.database.reading() as session:
        return {
            table.name: sorted((tuple(row) for row in session.execute(select(table))), key=repr)
            for table in Record.metadata.sorted_tables
        }


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """Who acts, and the act."""

    who: str
    do: Callable[[Act], object]


def answering(small: SmallService, library: Library) -> Prepared:
    sitting_id = begun(small, library, composed(small, library))
    blanks = questions(small, sitting_id)[0].question.blanks
    response = Response(texts=[one.key_printed for one in blanks], units=[one.units[0] for one in blanks])

    def do(act: Act) -> object:
        return record_answer(act, sitting_id, 1, response, act_key="all-or-nothing-answer", seen_revision=0)

    return Prepared(who="mira", do=do)


def beginning(small: SmallService, library: Library) -> Prepared:
    assessment_id = composed(small, library)
    return Prepared(who="mira", do=lambda act: start_sitting(act, library, assessment_id))


def handing_in(small: SmallService, library: Library) -> Prepared:
    sitting_id = begun(small, library, composed(small, library))
    for position in (1, 2, 3):
        answer_with(small, sitting_id, position)
    return Prepared(who="mira", do=lambda act: submit_sitting(act, sitting_id))


def marking(small: SmallService, library: Library) -> Prepared:
    put_in_service(small)
    observation_id = opened(small)
    phone = Phone(small.now)
    phone.start()
    for step in "abc":
        phone.mark(step)
    return Prepared(
        who="tor", do=lambda act: record_observation_events(act, observation_id=observation_id, sent=phone.made)
    )


def locking(small: SmallService, library: Library) -> Prepared:
    put_in_service(small)
    observation_id = opened(small)
    performed(small, observation_id)

    def do(act: Act) -> object:
        return lock_observation(act, observation_id=observation_id, global_rating=4, person_confirms=True)

    return Prepared(who="tor", do=do)


def deciding(small: SmallService, library: Library) -> Prepared:
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    wanted = DecisionWanted(outcome=Outcome.COMPETENT, competencies=("C5", "C8"), reason=REASON)
    with small.acting("ines") as act:
        intent_id = prepare_decision(act, library, small.person_id("mira"), wanted)
    return Prepared(who="ines", do=lambda act: sign_decision(act, library, intent_id, password=PASSWORD))


def closing(small: SmallService, library: Library) -> Prepared:
    assessment_id = composed(small, library)
    return Prepared(who="ines", do=lambda act: close_assessment(act, assessment_id))


def leaving(small: SmallService, library: Library) -> Prepared:
    person_id = small.person_id("tor")
    return Prepared(who="ada", do=lambda act: leave_person(act, person_id=person_id, left_on=act.today))


def inviting(small: SmallService, library: Library) -> Prepared:
    return Prepared(who="ada", do=lambda act: invite(act, person_id=small.person_id("mira")))


def second_factor(small: SmallService, library: Library) -> Prepared:
    return Prepared(who="tor", do=lambda act: begin_second_factor(act, Sealer("only-for-tests-" * 3)))


ACTS = [answering, beginning, handing_in, marking, locking, deciding, closing, leaving, inviting, second_factor]


@pytest.mark.parametrize("prepare", ACTS, ids=[one.__name__ for one in ACTS])
def test_a_failure_at_any_statement_leaves_nothing(
    small: SmallService, library: Library, prepare: Callable[[SmallService, Library], Prepared]
) -> None:
    prepared = prepare(small, library)
    before = everything(small)
    for statement in itertools.count():
        with breaking_at(small.database, statement) as counted:
            try:
                with small.acting(prepared.who) as act:
                    prepared.do(act)
            except BrokenLine:
                broke = True
            else:
                broke = False
        if not broke:
            break
        assert everything(small) == before, f"statement {statement}"
    assert statement == counted[0] >= 3, "each statement failed once, the commit last"
    assert everything(small) != before
    with small.database.reading() as session:
        assert verify_stored_chain(session).faults == ()
