"""One slip is a slip; two families that agree are an idea. Shares say when they are too small to compare."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from scipy.stats import binomtest

from quizapp.assessment.held_ideas import HeldIdea, IdeaAnswer, Share, held_ideas, idea_shares

MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
KNOWN = {"N16": frozenset({"no-baseline"}), "N17": frozenset({"no-baseline"}), "N08": frozenset({"inverted"})}


def answered(family: str, *ideas: str, minute: int = 0, person: str = "mira", competency: str = "C5") -> IdeaAnswer:
    return IdeaAnswer(
        person_id=person,
        family=family,
        competency=competency,
        ideas=frozenset(ideas),
        answered_at=MORNING + timedelta(minutes=minute),
    )


@pytest.mark.parametrize(
    "answers",
    [
        [],
        [answered("N16", "no-baseline")],
        [answered("N16", "no-baseline"), answered("N16", "no-baseline", minute=1)],
        [answered("N16", "no-baseline"), answered("N17", "baseline-added", minute=1)],
        [answered("N16", "no-baseline"), answered("N17", "no-baseline", minute=1), answered("N17", minute=2)],
    ],
    ids=["nothing", "one slip", "one family twice", "two ideas", "put right since"],
)
def test_not_held(answers: list[IdeaAnswer]) -> None:
    assert held_ideas(answers) == ()


def test_held_when_two_families_agree_whatever_the_order() -> None:
    answers = [answered("N17", "no-baseline", minute=5), answered("N16", "no-baseline", "inverted", minute=1)]
    expected = (HeldIdea(name="no-baseline", families=("N16", "N17")),)
    assert held_ideas(answers) == held_ideas(reversed(answers)) == expected


def test_an_idea_that_came_back_after_it_was_put_right_is_held_again() -> None:
    answers = [answered("N16", "no-baseline"), answered("N17", minute=1), answered("N17", "no-baseline", minute=2)]
    assert [held.name for held in held_ideas(answers)] == ["no-baseline"]


def test_shares_count_answers_and_people() -> None:
    """Mira holds it; Tor slipped once and was asked twice; Una was asked by one family only."""
    answers = [
        answered("N16", "no-baseline"), answered("N17", "no-baseline", competency="C9"),
        answered("N16", "no-baseline", person="tor"), answered("N17", person="tor", competency="C9"),
        answered("N16", person="una"), answered("N08", person="una"),
    ]  # fmt: skip
    five, nine = idea_shares(answers, KNOWN)
    assert (five.competency, five.name, five.families) == ("C5", "no-baseline", ("N16",))
    assert (five.named, five.held) == (Share(count=2, of=3), Share(count=1, of=2))
    assert (nine.competency, nine.named, nine.held) == ("C9", Share(count=1, of=2), Share(count=1, of=2))


def test_an_idea_its_file_no_longer_knows_is_still_counted() -> None:
    (share,) = idea_shares([answered("N50", "gone")], {})
    assert share.named == Share(count=1, of=1)


def test_small_numbers_are_marked() -> None:
    assert Share(count=3, of=19).is_too_few
    assert not Share(count=3, of=20).is_too_few


def test_the_interval_is_the_one_of_a_reference_library() -> None:
    reference = binomtest(3, 20).proportion_ci(method="wilson")
    interval = Share(count=3, of=20).interval
    assert interval is not None
    assert (interval.lower_fraction, interval.upper_fraction) == pytest.approx((reference.low, reference.high))
    assert Share(count=0, of=0).interval is None
