"""A result is looked at again: raised with exactly what was shown, answered by somebody apart, signed, never a loss."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.answer_challenge import prepare_answer, sign_answer
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.challenges_list import challenge_seen, open_challenges, own_challenges
from quizapp.services.evidence_of import evidence_rows
from quizapp.services.messages import put_away, unread_messages
from quizapp.services.raise_challenge import challenge_answer
from quizapp.services.sittings_of import asked_questions
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.challenges import Challenge, ChallengeAnswer, Message, RemarkedQuestion, RemarkedSitting
from quizapp.store.sittings import Answer, Sitting
from tests.challenging import (
    LATER,
    REASON,
    answered,
    evidence_of,
    number_corrected,
    other_number,
    question_at,
    raised,
    sat,
)
from tests.knowledge_forms import composed
from tests.small_service import SmallService

UPHELD, CORRECTED, VOID = ChallengeOutcome.UPHELD, ChallengeOutcome.CORRECTED, ChallengeOutcome.VOID


@pytest.fixture
def form(small: SmallService, library: Library) -> str:
    return composed(small, library)


def test_what_was_shown_is_kept_with_a_reviewer_and_a_day(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    said = raised(small, library, sitting_id, 1, words="The gauge is drawn between two marks.")
    assert said.due_on == small.now.date() + timedelta(days=14)
    assert said.reviewer_id == small.person_id("ines"), "Cleo accepted the key and stands apart"
    with small.acting("mira") as act:
        seen = challenge_seen(act, said.id)
        asked = asked_questions(act, sitting_id)[0]
    assert seen.shown["question"] == asked.question.to_plain()
    assert seen.shown["response"] == asked.answer.response
    assert seen.shown["grade"] == asked.answer.grade
    assert seen.words == "The gauge is drawn between two marks."
    assert [line.id for line in open_as(small, "ines")] == [said.id]


def open_as(small: SmallService, name: str, *, after: timedelta = LATER) -> list:
    with small.acting(name, at=small.now + after) as act:
        return list(open_challenges(act))


def test_asked_twice_the_first_stands(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    first = raised(small, library, sitting_id, 1, words="first")
    assert raised(small, library, sitting_id, 1, words="second") == first
    with small.database.reading() as session:
        assert session.scalars(select(Challenge.words)).all() == ["first"]


def test_only_ones_own_and_only_once_it_is_open(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong"], hand_in=False)
    with pytest.raises(Conflict, match="not open yet"):
        raised(small, library, sitting_id, 1)
    with pytest.raises(NotFound):
        raised(small, library, sitting_id, 1, name="tor")
    with pytest.raises(NotFound):
        raised(small, library, sitting_id, 9)
    done = sat(small, library, form, ["wrong", "right", "right"], name="tor")
    with pytest.raises(BadInput):
        raised(small, library, done, 1, name="tor", words="x" * 2001)


def test_overdue_stands_first(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "wrong", "right"])
    first = raised(small, library, sitting_id, 2)
    with small.acting("mira", at=small.now + timedelta(days=3)) as act:
        later = challenge_answer(act, library, sitting_id, 1)
    found = open_as(small, "ines", after=timedelta(days=15))
    assert [line.id for line in found] == [first.id, later.id]
    assert [line.is_overdue for line in found] == [True, False]
    on_the_day = open_as(small, "ines", after=timedelta(days=14))
    assert not on_the_day[0].is_overdue, "the day it is due is the last one, included"


def test_upheld_is_signed_and_changes_nothing(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    before = facts(small)
    challenge_id = answered(small, library, raised(small, library, sitting_id, 1).id, UPHELD)
    assert facts(small) == before
    with small.database.reading() as session:
        answer = session.scalars(select(ChallengeAnswer)).one()
        signature = session.get_one(Signature, answer.signature_id)
    assert (answer.outcome, answer.reason, signature.printed_name) == ("upheld", REASON, "Ines")
    with small.acting("mira", at=small.now + timedelta(hours=2)) as act:
        assert own_challenges(act)[0].outcome is UPHELD
        (message,) = unread_messages(act)
        assert "the result stands" in message.text
        assert message.about_id == challenge_id
        put_away(act, message.id)
        assert unread_messages(act) == ()
    with small.acting("tor") as act, pytest.raises(NotFound):
        put_away(act, message.id)


def facts(small: SmallService) -> list[object]:
    """Grades, results and evidence as they stand."""
    with small.database.reading() as session:
        return [
            sorted((row.question_id, row.revision, str(row.grade)) for row in session.scalars(select(Answer))),
            sorted((row.id, str(row.result)) for row in session.scalars(select(Sitting))),
            [(row.id, row.outcome, row.summary) for name in ("mira", "tor") for row in evidence_of(small, name)],
        ]


def test_who_marked_accepted_or_asked_may_not_answer(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    challenge_id = raised(small, library, sitting_id, 1).id
    for name, why in (("cleo", "stands for its key"), ("mira", "roles do not"), ("tor", "roles do not")):
        with pytest.raises(NotAllowed, match=why):
            answered(small, library, challenge_id, UPHELD, by=name)
    with small.acting("leif") as act, pytest.raises(NotFound):
        challenge_seen(act, challenge_id)


def test_the_database_refuses_them_as_well(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    challenge_id = raised(small, library, sitting_id, 1).id
    for name, marker, author in (("cleo", "", ""), ("cleo", "", "cleo"), ("mira", "", "cleo")):
        row = ChallengeAnswer(
            id=small.randomness.new_id(), challenge_id=challenge_id, person_id=small.person_id("mira"),
            marker_id=marker, author_id=small.person_id(author) if author else "",
            reviewer_id=small.person_id(name), outcome="upheld", scope="draw", correction={}, reason=REASON,
            signature_id="s" * 32, answered_at=small.now,
        )  # fmt: skip
        with pytest.raises(IntegrityError), small.database.writing() as session:
            session.add(row)


def test_a_signed_answer_cannot_be_changed_in_the_database(small: SmallService, library: Library, form: str) -> None:
    sitting_id = sat(small, library, form, ["wrong", "right", "right"])
    answered(small, library, raised(small, library, sitting_id, 1).id, VOID)
    for model in (ChallengeAnswer, RemarkedQuestion, RemarkedSitting):
        with pytest.raises(Exception, match="append-only"), small.database.writing() as session:
            session.execute(update(model).values(id="x" * 32))


def test_a_corrected_key_reaches_everybody_who_met_that_draw(small: SmallService, library: Library, form: str) -> None:
    """Mira and Una wrote the number that turns out right, Tor the old key; only Tor's question is kept with a note."""
    first = sat(small, library, form, ["wrong", "right", "wrong"])
    new_key = other_number(question_at(small, first, 1))
    tor = sat(small, library, form, ["right", "right", "wrong"], name="tor")
    una = sat(small, library, form, [new_key, "wrong", "wrong"], name="una")
    challenge_id = raised(small, library, first, 1).id
    correction = number_corrected(question_at(small, first, 1), new_key)
    answered(small, library, challenge_id, CORRECTED, correction=correction)
    with small.database.reading() as session:
        effects = {row.sitting_id: row.effect for row in session.scalars(select(RemarkedSitting))}
        results = {row.id: row.result["right"] for row in session.scalars(select(Sitting))}
        messages = {row.person_id: row.text for row in session.scalars(select(Message)) if row.about == "sitting"}
        answers = session.scalars(select(Answer).where(Answer.act_key.like("remark-%"))).all()
    assert effects == {first: Effect.RAISED, tor: Effect.KEPT, una: Effect.RAISED}
    assert results == {first: 2, tor: 2, una: 1}
    assert len(messages) == 3
    assert "kept as it was" in messages[small.person_id("tor")]
    assert "for the better: 2 of 3 right" in messages[small.person_id("mira")]
    assert {row.revision for row in answers} == {2}
    assert len(answers) == 2, "the old answers stay; the kept one is not graded again"


def test_evidence_is_said_anew_and_counts_once(small: SmallService, library: Library, form: str) -> None:
    first = sat(small, library, form, ["wrong", "right", "wrong"])
    before = {row.competency: row for row in evidence_of(small, "mira")}
    assert {row.outcome for row in before.values()} == {EvidenceOutcome.NOT_SHOWN}
    question = question_at(small, first, 1)
    correction = number_corrected(question, other_number(question))
    answered(small, library, raised(small, library, first, 1).id, CORRECTED, correction=correction)
    rows = evidence_of(small, "mira")
    anew = [row for row in rows if row.replaces_id]
    assert {row.replaces_id for row in anew} == {row.id for row in before.values()}
    assert {row.outcome for row in anew} == {EvidenceOutcome.SHOWN}, "two of three reach the cut now"
    assert {row.happened_at for row in anew} == {row.happened_at for row in before.values()}
    with small.acting("ines") as act:
        counted = evidence_rows(act, [small.person_id("mira")])[small.person_id("mira")]
    assert sorted(row.id for row in counted) == sorted(row.id for row in anew)


def test_an_open_sitting_is_marked_with_the_corrected_key(small: SmallService, library: Library, form: str) -> None:
    first = sat(small, library, form, ["wrong", "right", "right"])
    question = question_at(small, first, 1)
    new_key = other_number(question)
    tor = sat(small, library, form, [new_key, "right"], name="tor", hand_in=False)
    answered(
        small, library, raised(small, library, first, 1).id, CORRECTED, correction=number_corrected(question, new_key)
    )
    with small.acting("tor", at=small.now + timedelta(hours=2)) as act:
        submit_sitting(act, tor)
    with small.database.reading() as session:
        assert session.get_one(Sitting, tor).result["right"] == 2
        assert session.scalar(select(Message.text).where(Message.person_id == small.person_id("tor"))).count(
            "not handed this in yet"
        )


def test_void_is_left_out_and_nobody_falls_by_it(small: SmallService, library: Library, form: str) -> None:
    """Two of three was shown; without the question Tor had right it would be one of two, so his stays with a note."""
    mira = sat(small, library, form, ["wrong", "right", "right"])
    tor = sat(small, library, form, ["right", "right", "wrong"], name="tor")
    una = sat(small, library, form, ["wrong", "right", "wrong"], name="una")
    before = [(row.id, row.outcome) for row in evidence_of(small, "tor")]
    answered(small, library, raised(small, library, mira, 1).id, VOID)
    with small.database.reading() as session:
        results = {row.id: row.result for row in session.scalars(select(Sitting))}
        effects = {row.sitting_id: row.effect for row in session.scalars(select(RemarkedSitting))}
    assert results[tor]["finding"] == "2 of 3 right; 2 were needed."
    assert effects[tor] == Effect.KEPT
    assert [(row.id, row.outcome) for row in evidence_of(small, "tor")] == before
    assert results[mira]["finding"] == "2 of 2 right; 2 were needed."
    assert results[una]["finding"] == "1 of 2 right; 2 were needed."


def test_what_changed_meanwhile_stops_the_signature(small: SmallService, library: Library, form: str) -> None:
    first = sat(small, library, form, ["wrong", "right", "right"])
    wanted = AnswerWanted(outcome=VOID, reason=REASON)
    challenge_id = raised(small, library, first, 1).id
    with small.acting("ines", at=small.now + LATER) as act:
        intent_id = prepare_answer(act, library, challenge_id, wanted)
    sat(small, library, form, ["right", "right", "right"], name="tor")
    with pytest.raises(Conflict, match="changed since"), small.acting("ines", at=small.now + LATER) as act:
        sign_answer(act, library, intent_id, password="plain granite harbour lantern")
    answered(small, library, challenge_id, VOID)
    with pytest.raises(Conflict, match="answered already"):
        answered(small, library, challenge_id, UPHELD)


def test_a_correction_must_correct_something(small: SmallService, library: Library, form: str) -> None:
    first = sat(small, library, form, ["wrong", "right", "right"])
    challenge_id = raised(small, library, first, 1).id
    question = question_at(small, first, 1)
    same = number_corrected(question, f"{question.blanks[0].key:f}")
    for correction in (None, same):
        with pytest.raises(BadInput):
            answered(small, library, challenge_id, CORRECTED, correction=correction)


def test_it_all_stands_in_the_audit_trail(small: SmallService, library: Library, form: str) -> None:
    first = sat(small, library, form, ["wrong", "right", "right"])
    answered(small, library, raised(small, library, first, 1).id, VOID)
    with small.database.reading() as session:
        events = session.scalars(select(AuditRow.event)).all()
        bodies = b"".join(session.scalars(select(AuditRow.body)))
    assert {"challenge_raised", "challenge_answered", "sitting_marked"} <= set(events)
    assert REASON.encode() not in bodies
