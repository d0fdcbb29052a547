"""A key corrected for a whole family: options and orders as they are named, numbers from the corrected file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Effect, Scope
from quizapp.assessment.corrected_key import Correction, pair_name
from quizapp.assessment.formula import parse_formula
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.content_items import ContentKind
from quizapp.services.record_answer import Response, option_token, record_answer
from quizapp.services.sittings_of import asked_questions
from quizapp.services.who_met import who_met
from quizapp.store.challenges import Message, RemarkedQuestion
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting
from tests.accepted_library import accept
from tests.challenging import LATER, answered, evidence_of, number_corrected, question_at, raised
from tests.knowledge_forms import practice
from tests.small_service import SmallService

CORRECTED = ChallengeOutcome.CORRECTED
Respond = Callable[[Question, str], Response]


def practised(small: SmallService, library: Library, family: str, name: str, response: Respond) -> str:
    """Begin a practice of one question and answer it with what `response` makes of the question and its tokens."""
    sitting_id = practice(small, library, family, name=name)
    with small.acting(name, at=small.now + LATER) as act:
        seed = act.session.get_one(Sitting, sitting_id).seed
        question = asked_questions(act, sitting_id)[0].question
        record_answer(
            act, sitting_id, 1, response(question, seed), act_key=f"practise-{name}-{family}-key", seen_revision=0
        )
    return sitting_id


def choose(name: str) -> Respond:
    def respond(question: Question, seed: str) -> Response:
        wanted = name or next(one.name for one in question.options if one.is_key)
        return Response(option=option_token(seed, 1, wanted))

    return respond


def effects(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return sorted(session.scalars(select(RemarkedQuestion.effect)))


def verdict(small: SmallService, sitting_id: str, name: str) -> bool:
    with small.acting(name) as act:
        answer = asked_questions(act, sitting_id)[0].answer
        assert answer is not None
        return bool(answer.grade["is_correct"])


def test_another_option_is_right_for_everybody_who_met_the_family(small: SmallService, library: Library) -> None:
    mira = practice(small, library, "K12")
    question = question_at(small, mira, 1)
    other = next(one.name for one in question.options if not one.is_key)
    with small.acting("mira", at=small.now + LATER) as act:
        seed = act.session.get_one(Sitting, mira).seed
        record_answer(
            act, mira, 1, Response(option=option_token(seed, 1, other)), act_key="practise-mira-option", seen_revision=0
        )
    tor = practised(small, library, "K12", "tor", choose(""))
    correction = Correction(right_options=(other,))
    challenge = raised(small, library, mira, 1)
    with pytest.raises(BadInput):
        answered(small, library, challenge.id, CORRECTED, scope=Scope.FAMILY, correction=Correction())
    answered(small, library, challenge.id, CORRECTED, scope=Scope.FAMILY, correction=correction)
    assert verdict(small, mira, "mira")
    assert verdict(small, tor, "tor"), "who chose the old key keeps it"
    assert len(effects(small)) == 2
    assert "raised" in effects(small)


def test_a_pair_that_needs_no_order_is_no_mistake(small: SmallService, library: Library) -> None:
    mira = practice(small, library, "K08")
    question = question_at(small, mira, 1)
    step = next(one for one in question.steps if one.after)
    first = step.after[0]
    practised_order(small, mira, in_order_but(question, step.name, first))
    broken = [pair_name(one["first"], one["second"]) for one in grade_of(small, mira)["broken_pairs"]]
    assert broken
    answered(
        small, library, raised(small, library, mira, 1).id, CORRECTED, scope=Scope.FAMILY,
        correction=Correction(free_pairs=tuple(broken)),
    )  # fmt: skip
    assert verdict(small, mira, "mira")


def in_order_but(question: Question, step: str, first: str) -> list[str]:
    """The steps in their order, one of them put straight before what it depends on."""
    settled: list[str] = []
    while len(settled) < len(question.steps):
        settled += [one.name for one in question.steps if one.name not in settled and set(one.after) <= set(settled)][
            :1
        ]
    settled.remove(step)
    settled.insert(settled.index(first), step)
    return settled


def practised_order(small: SmallService, sitting_id: str, order: list[str]) -> None:
    with small.acting("mira", at=small.now + LATER) as act:
        record_answer(act, sitting_id, 1, Response(order=order), act_key="practise-mira-order", seen_revision=0)


def grade_of(small: SmallService, sitting_id: str) -> dict:
    with small.acting("mira") as act:
        answer = asked_questions(act, sitting_id)[0].answer
        assert answer is not None
        return answer.grade


def doubled(library: Library, code: str) -> Library:
    """The same folder in which the file of one family now says twice the number, with a wide tolerance."""
    family = library.family(code)
    blank = family.blanks[0]
    key = replace(blank, formula=parse_formula(f"2 * ({blank.formula.text})"), high=parse_formula("1000"))
    changed = replace(family, blanks=(key,), content_hash="c" * 64, wrong_ideas=())
    return replace(library, families={**library.families, code: changed})


def test_numbers_come_from_the_corrected_file(small: SmallService, library: Library) -> None:
    """Everybody had other numbers; each is marked by what the corrected file says for their own."""

    def twice(question: Question, seed: str) -> Response:
        blank = question.blanks[0]
        return Response(texts=[f"{2 * Decimal(blank.key_printed):f}"], units=[blank.units[0]])

    def once(question: Question, seed: str) -> Response:
        return Response(texts=[question.blanks[0].key_printed], units=[question.blanks[0].units[0]])

    mira = practised(small, library, "N03", "mira", twice)
    tor = practised(small, library, "N03", "tor", twice)
    una = practised(small, library, "N03", "una", once)
    assert question_at(small, mira, 1).drawn != question_at(small, tor, 1).drawn
    challenge = raised(small, library, mira, 1)
    from_file = Correction(is_from_file=True)
    with pytest.raises(BadInput, match="no corrected key in it yet"):
        answered(small, library, challenge.id, CORRECTED, scope=Scope.FAMILY, correction=from_file)
    answered(small, doubled(library, "N03"), challenge.id, CORRECTED, scope=Scope.FAMILY, correction=from_file)
    assert [verdict(small, one, name) for one, name in ((mira, "mira"), (tor, "tor"), (una, "una"))] == [True] * 3
    assert effects(small) == [Effect.KEPT, Effect.RAISED, Effect.RAISED]
    with small.database.reading() as session:
        told = session.scalars(select(Message.person_id).where(Message.about == "sitting")).all()
    assert sorted(told) == sorted(small.person_id(name) for name in ("mira", "tor", "una"))
    with small.acting("ines") as act:
        met = who_met(
            act, library, kind=ContentKind.FAMILY, code="N03", content_hash=library.family("N03").content_hash
        )
    assert {one.person_id for one in met} == set(told), "exactly those who met it were told"


def test_a_number_by_hand_reaches_one_draw_only(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    mira = practised(small, library, "N03", "mira", lambda question, seed: Response(texts=["1"], units=["L/min"]))
    challenge = raised(small, library, mira, 1)
    correction = number_corrected(question_at(small, mira, 1), "1")
    with pytest.raises(BadInput, match="right for one draw only"):
        answered(small, library, challenge.id, CORRECTED, scope=Scope.FAMILY, correction=correction)
    answered(small, library, challenge.id, CORRECTED, correction=correction)
    assert verdict(small, mira, "mira")


def test_a_practice_put_right_clears_an_open_danger(small_sqlite: SmallService, library: Library) -> None:
    """Once answered in the dangerous direction; the new draw was right all along, so the danger is cleared."""
    small = small_sqlite
    with small.acting("cleo") as act:
        accept(act, library, ["N03"])
    with small.acting("mira") as act:
        act.session.add(
            Evidence(
                id=act.randomness.new_id(), person_id=act.actor.person_id, competency="C5", kind="sitting",
                source_id="e" * 32, procedure=None, outcome="not_shown", summary="made up", counts_for_sign_off=True,
                profile_code="TV-A", profile_revision=1, assessor_id=None,
                details={"dangerous_families": ["N03"], "questions": 1}, happened_at=act.now - timedelta(days=1),
                recorded_at=act.now,
            )
        )  # fmt: skip
    mira = practised(small, library, "N03", "mira", lambda question, seed: Response(texts=["1"], units=["L/min"]))
    correction = number_corrected(question_at(small, mira, 1), "1")
    answered(small, library, raised(small, library, mira, 1).id, CORRECTED, correction=correction)
    cleared = [row for row in evidence_of(small, "mira") if row.details.get("is_redraw")]
    assert [row.details["families_right"] for row in cleared] == [["N03"]]
