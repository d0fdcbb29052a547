"""A form is marked as a whole, and no score makes up for a dangerous answer."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.knowledge_marking import (
    AnswerState,
    FormRules,
    KnowledgeOutcome,
    KnowledgeResult,
    MarkedAnswer,
    mark_form,
    scaled_cut,
)

RIGHT, WRONG = Decimal(1), Decimal(0)


def answer(competency: str, credit: Decimal = RIGHT, family: str = "n1", **more: object) -> MarkedAnswer:
    return MarkedAnswer(competencies=(competency,), family=family, credit=credit, **more)  # type: ignore[arg-type]


def outcome(result: KnowledgeResult, competency: str) -> KnowledgeOutcome:
    found = result.of(competency)
    assert found is not None
    return found.outcome


def test_the_form_counts_as_a_whole():
    result = mark_form([answer("C3")] * 4 + [answer("C4", WRONG)] * 2, FormRules(cut=4))
    assert result.is_shown
    assert result.sentence == "4 of 6 right, the cut is 4: shown."
    assert outcome(result, "C4") is KnowledgeOutcome.SHOWN
    assert result.competencies[1].sentence == "C4 shown by the form as a whole: 0 of 2 right."
    below = mark_form([answer("C3")] * 3 + [answer("C4", WRONG)] * 3, FormRules(cut=4))
    assert not below.is_shown
    assert {one.outcome for one in below.competencies} == {KnowledgeOutcome.NOT_SHOWN}
    assert below.competencies[0].sentence == "C3 not shown: 3 of 3 right, but the form as a whole is below its cut."


@pytest.mark.parametrize(("asked", "expected"), [(4, KnowledgeOutcome.SHOWN), (5, KnowledgeOutcome.NOT_SHOWN)])
def test_a_minimum_counts_only_from_five_questions_on(asked, expected):
    answers = [answer("C3")] * 20 + [answer("C4", WRONG)] * asked
    result = mark_form(answers, FormRules(cut=18, minimum_right={"C4": 1}))
    assert result.is_shown
    assert outcome(result, "C4") is expected
    by_itself = mark_form([answer("C4")] * 5, FormRules(cut=5, minimum_right={"C4": 1})).competencies[0]
    assert by_itself.sentence == "C4 shown: 5 of 5 right."
    assert outcome(result, "C3") is KnowledgeOutcome.SHOWN


def test_only_full_credit_counts_right_and_unanswered_counts_against():
    answers = [answer("C3", Decimal("0.5")), answer("C3", state=AnswerState.UNANSWERED), answer("C3")]
    result = mark_form(answers, FormRules(cut=1))
    assert (result.right, result.questions) == (1, 3)


def test_a_dangerous_answer_holds_its_competency_whatever_the_score():
    answers = [answer("C3")] * 24 + [answer("C3", WRONG, family="n29", is_dangerous=True), answer("C4")]
    result = mark_form(answers, FormRules(cut=18))
    held = result.of("C3")
    assert held is not None
    assert held.outcome is KnowledgeOutcome.NOT_SHOWN
    assert held.is_held_by_danger
    assert held.dangerous_families == ("n29",)
    assert held.sentence == "C3 not shown: n29 was answered in the dangerous direction. Answer it right in a new draw."
    assert outcome(result, "C4") is KnowledgeOutcome.SHOWN
    assert result.is_shown


def test_a_danger_on_a_form_below_its_cut_does_not_promise_a_pass_by_a_new_draw():
    answers = [answer("C3", WRONG, is_dangerous=True), answer("C3", WRONG)]
    held = mark_form(answers, FormRules(cut=2)).of("C3")
    assert held is not None
    assert not held.is_held_by_danger


def test_nothing_dangerous_was_said_by_somebody_who_did_not_answer():
    answers = [answer("C3")] * 3 + [answer("C3", WRONG, is_dangerous=True, state=AnswerState.UNANSWERED)]
    assert outcome(mark_form(answers, FormRules(cut=3)), "C3") is KnowledgeOutcome.SHOWN


def test_a_question_on_two_competencies_counts_for_both_and_once_for_the_form():
    both = MarkedAnswer(competencies=("C3", "C7"), family="n33", credit=WRONG, is_dangerous=True)
    result = mark_form([both, answer("C3"), answer("C7")], FormRules(cut=2))
    assert result.right == 2
    assert outcome(result, "C3") is outcome(result, "C7") is KnowledgeOutcome.NOT_SHOWN


def test_a_family_right_once_and_wrong_once_is_not_right():
    answers = [answer("C3", family="n1"), answer("C3", WRONG, family="n1"), answer("C3", family="n2")]
    found = mark_form(answers, FormRules(cut=1)).of("C3")
    assert found is not None
    assert found.families_right == ("n2",)


def test_a_competency_the_form_did_not_ask_is_said():
    result = mark_form([answer("C3")], FormRules(cut=1, competencies=("C3", "C10", "C9")))
    assert [one.competency for one in result.competencies] == ["C3", "C9", "C10"]
    assert outcome(result, "C9") is KnowledgeOutcome.NOT_ASKED
    assert result.of("C99") is None


def test_a_withdrawn_question_leaves_the_form_and_the_cut_falls_in_proportion():
    answers = [answer("C3")] * 7 + [answer("C4", WRONG, state=AnswerState.LEFT_OUT)] * 3
    result = mark_form(answers, FormRules(cut=8))
    assert (result.questions, result.left_out, result.cut) == (7, 3, 6)
    assert outcome(result, "C4") is KnowledgeOutcome.NOT_ASKED
    nothing = mark_form([answer("C3", state=AnswerState.LEFT_OUT)], FormRules(cut=1))
    assert not nothing.is_shown
    assert "withdrawn" in nothing.sentence


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(1, n), st.just(n), st.integers(0, n))))
def test_the_scaled_cut_is_the_smallest_that_asks_no_smaller_share(numbers):
    cut, asked, kept = numbers
    scaled = scaled_cut(cut, asked, kept)
    assert 0 <= scaled <= kept
    if kept:
        assert Fraction(scaled, kept) >= Fraction(cut, asked) > Fraction(scaled - 1, kept)


ANSWERS = st.lists(
    st.builds(
        MarkedAnswer,
        competencies=st.sampled_from([("C3",), ("C4",), ("C3", "C4")]),
        family=st.sampled_from(["n1", "n2", "n3"]),
        credit=st.sampled_from([RIGHT, WRONG, Decimal("0.5")]),
        is_dangerous=st.booleans(),
        state=st.sampled_from(AnswerState),
    ),
    min_size=1,
    max_size=14,
)


@given(ANSWERS, st.integers(1, 14), st.integers(0, 5))
def test_what_is_shown_was_asked_above_the_cut_and_without_danger(answers, cut, minimum):
    rules = FormRules(cut=min(cut, len(answers)), minimum_right={"C3": minimum})
    result = mark_form(answers, rules)
    for one in result.competencies:
        if one.outcome is KnowledgeOutcome.SHOWN:
            assert one.asked > 0
            assert result.is_shown
            assert not one.dangerous_families
            assert one.minimum_right is None or one.right >= one.minimum_right
    assert result == mark_form(list(reversed(answers)), rules)


@pytest.mark.parametrize("cut", [0, 3])
def test_a_cut_outside_the_form_is_refused(cut):
    with pytest.raises(ValueError, match="cut"):
        mark_form([answer("C3"), answer("C4")], FormRules(cut=cut))
