"""What the marks of a structured discussion say: a cut, critical questions, critical errors; nothing compensates."""

from __future__ import annotations

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.discussions import (
    DiscussedQuestion,
    DiscussionGuide,
    DiscussionMark,
    discussion_result,
    guide_from_plain,
    guide_to_plain,
)
from quizapp.assessment.sign_off_record import EvidenceOutcome

NOTHING, PARTLY, FULLY = DiscussionMark


def guide(critical: str = "ab", letters: str = "abcdef", cut: float = 0.75) -> DiscussionGuide:
    return DiscussionGuide(
        code="D09",
        title="A case",
        version=1,
        competency="C1",
        minutes=15,
        cut_fraction=cut,
        is_about_device=True,
        owner="clinical lead",
        review_by=date(2027, 9, 30),
        sources=("CP",),
        cautions=("In doubt, ventilate by bag.",),
        questions=tuple(
            DiscussedQuestion(letter=one, ask=f"{one}?", full="all", partial="some", is_critical=one in critical)
            for one in letters
        ),
        case="A case.",
        content_hash="0" * 64,
    )


def marked(text: str) -> dict[str, DiscussionMark]:
    return {letter: DiscussionMark(int(sign)) for letter, sign in zip("abcdef", text, strict=False) if sign != "-"}


@pytest.mark.parametrize(
    ("marks", "outcome", "points"),
    [
        ("222222", EvidenceOutcome.SHOWN, 12),
        ("221112", EvidenceOutcome.SHOWN, 9),
        ("221111", EvidenceOutcome.NOT_SHOWN, 8),  # one point under the cut of 9
        ("122222", EvidenceOutcome.NOT_SHOWN, 11),  # a critical question in part
        ("022222", EvidenceOutcome.NOT_SHOWN, 10),
        ("22222-", EvidenceOutcome.INCOMPLETE, 10),
        ("1222--", EvidenceOutcome.NOT_SHOWN, 7),  # what speaks against already is not undone by asking on
        ("------", EvidenceOutcome.INCOMPLETE, 0),
    ],
)
def test_marks_worked_by_hand(marks: str, outcome: EvidenceOutcome, points: int) -> None:
    result = discussion_result(guide(), marked(marks), ())
    assert (result.outcome, result.points, result.full_points) == (outcome, points, 12)
    assert (result.reasons == ()) is (outcome is EvidenceOutcome.SHOWN)


def test_a_critical_error_is_never_made_up_for() -> None:
    result = discussion_result(guide(), marked("222222"), ["Starts without a bag at hand"])
    assert result.outcome is EvidenceOutcome.NOT_SHOWN
    assert result.reasons == ("A critical error was said: Starts without a bag at hand.",)


@pytest.mark.parametrize(("cut", "questions", "needed"), [(0.75, 6, 9), (0.8, 5, 8), (0.7, 5, 7), (1.0, 4, 8)])
def test_the_fewest_points_that_reach_the_cut(cut: float, questions: int, needed: int) -> None:
    assert guide(letters="abcdefgh"[:questions], cut=cut).points_needed == needed


@given(st.lists(st.sampled_from(list(DiscussionMark)), min_size=6, max_size=6))
def test_a_better_mark_never_makes_it_worse(marks: list[DiscussionMark]) -> None:
    given_marks = dict(zip("abcdef", marks, strict=True))
    if discussion_result(guide(), given_marks, ()).outcome is EvidenceOutcome.SHOWN:
        for letter in "abcdef":
            better = discussion_result(guide(), {**given_marks, letter: FULLY}, ())
            assert better.outcome is EvidenceOutcome.SHOWN


def test_a_frozen_guide_comes_back_as_it_was() -> None:
    first = guide(cut=0.7)
    assert guide_from_plain(json.loads(json.dumps(guide_to_plain(first)))) == first
