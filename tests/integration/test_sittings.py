"""A sitting from composing to evidence: frozen questions, receipts, one effect, and what lies behind each answer."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from quizapp.services.record_answer import Response, record_answer
from quizapp.services.start_sitting import start_practice, start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.sittings import Answer
from tests.knowledge_forms import LATER, answer, begun, composed, evidence, handed_in, questions, right_text
from tests.small_service import SmallService


def test_a_form_answered_right_becomes_evidence_for_each_competency(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    for one in questions(small, sitting_id):
        answer(small, sitting_id, one.position, right_text(one.question))
    handed_in(small, sitting_id)
    rows = evidence(small)
    assert [(row.competency, row.outcome, row.counts_for_sign_off) for row in rows] == [
        ("C3", "shown", True),
        ("C5", "shown", True),
    ]


def test_beginning_again_goes_on_with_the_same_questions(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sitting_id = begun(small, library, assessment_id)
    before = [one.question for one in questions(small, sitting_id)]
    assert begun(small, library, assessment_id) == sitting_id
    assert [one.question for one in questions(small, sitting_id)] == before


def test_siblings_do_not_stand_together_while_others_are_left(small_sqlite: SmallService, library: Library) -> None:
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    families = [one.question.family for one in questions(small_sqlite, sitting_id) if one.competency == "C5"]
    assert len(set(families)) == 2


def test_the_same_key_gives_the_same_receipt_and_one_row(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    first = answer(small, sitting_id, 1, "12", key="k" * 20)
    assert answer(small, sitting_id, 1, "12", key="k" * 20) == first
    with pytest.raises(Conflict, match="first one was kept"):
        answer(small, sitting_id, 1, "13", key="k" * 20)
    with small.database.reading() as session:
        assert len(list(session.scalars(select(Answer)))) == 1


def test_a_second_window_overwrites_nothing(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    answer(small, sitting_id, 1, "12")
    answer(small, sitting_id, 1, "13", seen=1)
    with pytest.raises(Conflict, match=r"it says 13\b.*, this page sent 14\b"):
        answer(small, sitting_id, 1, "14", seen=1)


@pytest.mark.parametrize("text", ["", "1e5", "nan", "12 cmH2O", "½", "1_000", "٣", "12..", "-"])
def test_what_cannot_be_read_is_never_marked_wrong(small_sqlite: SmallService, library: Library, text: str) -> None:
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    with pytest.raises(BadInput) as refusal:
        answer(small_sqlite, sitting_id, 1, text)
    assert refusal.value.field == "answer_0"
    assert all(one.answer is None for one in questions(small_sqlite, sitting_id))


def test_an_answer_after_the_time_is_kept_but_not_scored(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library, time_allowance_min=10))
    for one in questions(small, sitting_id):
        saved = answer(small, sitting_id, one.position, right_text(one.question), after=timedelta(minutes=11))
        assert saved.is_late
    handed_in(small, sitting_id)
    assert {row.outcome for row in evidence(small)} == {"not_shown"}


def test_a_foreign_sitting_is_not_found(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    with small.acting("tor") as act, pytest.raises(NotFound):
        record_answer(act, sitting_id, 1, Response(texts=["1"]), act_key="k" * 20, seen_revision=0)
    with small.acting("tor") as act, pytest.raises(NotFound):
        submit_sitting(act, sitting_id)


def test_an_assessment_not_assigned_is_not_found(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    with small.acting("petra") as act, pytest.raises(NotFound):
        start_sitting(act, library, assessment_id)


def test_after_handing_in_nothing_changes_and_there_is_no_second_sitting(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sitting_id = begun(small, library, assessment_id)
    handed_in(small, sitting_id)
    handed_in(small, sitting_id)
    with pytest.raises(Conflict, match="handed in already"):
        answer(small, sitting_id, 1, "12")
    with pytest.raises(Conflict, match="submitted this assessment already"):
        begun(small, library, assessment_id)
    assert len(evidence(small)) == 2


def test_a_dangerous_answer_holds_the_competency_until_a_new_draw_is_right(
    small: SmallService, library: Library
) -> None:
    sitting_id = begun(small, library, composed(small, library, cut=1))
    asked = questions(small, sitting_id)
    (oxygen,) = [one for one in asked if one.competency == "C3"]
    dangerous = oxygen.question.blanks[0].key * Decimal(2)
    answer(small, sitting_id, oxygen.position, f"{dangerous:.1f}")
    for one in asked:
        if one.competency != "C3":
            answer(small, sitting_id, one.position, right_text(one.question))
    handed_in(small, sitting_id)
    (held,) = [row for row in evidence(small) if row.competency == "C3"]
    assert (held.outcome, held.details["is_held_by_danger"]) == ("not_shown", True)
    family = oxygen.question.family
    with small.acting("mira", at=small.now + LATER) as act:
        profile = library.profile("TV-A", 1)
        twin = start_practice(act, library, family=family, question_count=1, profile=profile)
    (fresh,) = questions(small, twin)
    assert not fresh.question.asks_the_same_as(oxygen.question)
    answer(small, twin, 1, right_text(fresh.question))
    assert [row.details["families_right"] for row in evidence(small)[:2]][-1] == [family]


def test_content_that_nobody_accepted_is_not_asked_in_an_assessment(small: SmallService, library: Library) -> None:
    with small.acting("ines") as act:
        assessment_id = compose_assessment(
            act,
            library,
            Composition(
                title="x", parts=[Part(competency="C5", question_count=1)], cut=1, cut_reason="only to try it",
                profile_code="TV-A", profile_revision=1,
            ),
        )  # fmt: skip
        assign_assessment(act, assessment_id, base_ids=[small.base_id])
    with small.acting("mira") as act, pytest.raises(BadInput, match="no accepted question on C5"):
        start_sitting(act, library, assessment_id)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"title": " "}, "title"),
        ({"parts": []}, "parts"),
        ({"cut": 0}, "cut"),
        ({"cut": 4}, "cut"),
        ({"cut_reason": "short"}, "cut_reason"),
        ({"time_allowance_min": 0}, "time_allowance_min"),
        ({"parts": [Part(competency="C3", question_count=3, minimum_right=2)]}, "parts"),
    ],
)
def test_a_form_that_cannot_work_is_refused(
    small_sqlite: SmallService, library: Library, changes: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        composed(small_sqlite, library, **changes)
    assert refusal.value.field == field


def test_a_clinician_composes_and_assigns_nothing(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    with small.acting("mira") as act, pytest.raises(NotAllowed):
        assign_assessment(act, assessment_id, everybody=True)
