from __future__ import annotations

from datetime import date

import pytest

from quizapp.assessment.competence_evidence import Given, knowledge_episode, performance_episode
from quizapp.assessment.observation_state import StepMark
from quizapp.psychometrics.item_response import chance_right

DAY = date(2026, 3, 2)


def given(credit: float = 1.0, *, share: float | None = None, options: int = 0, fresh: float = 1.0) -> Given:
    return Given(credit_fraction=credit, just_competent_fraction=share, option_count=options, freshness_fraction=fresh)


def sitting(*answers: Given, is_assessed: bool = True):  # type: ignore[no-untyped-def]
    return knowledge_episode(day=DAY, source_id="s", is_assessed=is_assessed, given=answers).answers


def test_ten_answers_of_a_form_weigh_what_the_design_effect_says() -> None:
    assert [one.weight for one in sitting(*[given()] * 10)] == [pytest.approx(1 / 1.45)] * 10


def test_a_self_test_weighs_half_and_a_family_met_lately_half_again() -> None:
    assert sitting(given(), is_assessed=False)[0].weight == 0.5
    assert sitting(given(fresh=0.5), is_assessed=False)[0].weight == 0.25


@pytest.mark.parametrize(
    ("options", "share", "expected"), [(0, None, 0.75), (4, None, 0.75), (0, 0.5, 0.5), (3, 0.6, 0.6)]
)
def test_somebody_at_the_standard_is_right_as_often_as_the_author_expects(
    options: int, share: float | None, expected: float
) -> None:
    (one,) = sitting(given(share=share, options=options))
    guess = 1 / options if options else 0.02
    assert one.guess_fraction == guess
    chance = chance_right(0.0, slope=one.slope, difficulty=one.difficulty, guess_fraction=guess)
    assert chance == pytest.approx(expected)


def test_a_share_that_guessing_reaches_is_raised_a_little_above_it() -> None:
    (one,) = sitting(given(share=0.45, options=2))
    chance = chance_right(0.0, slope=one.slope, difficulty=one.difficulty, guess_fraction=0.5)
    assert chance == pytest.approx(0.55)


def test_steps_count_by_what_was_seen_of_them() -> None:
    marks = {
        "a": StepMark.DONE, "b": StepMark.DONE, "c": StepMark.NOT_DONE, "d": StepMark.NOT_SEEN,
        "e": StepMark.NOT_CALLED_FOR,
    }  # fmt: skip
    episode = performance_episode(day=DAY, source_id="o", marks=marks, prompted=["b"])
    assert episode is not None
    assert [one.credit_fraction for one in episode.answers] == [1.0, 0.5, 0.0]
    assert [one.weight for one in episode.answers] == [pytest.approx(1 / 1.2)] * 3
    assert chance_right(0.0, slope=1.3, difficulty=episode.answers[0].difficulty) == pytest.approx(0.9)


def test_a_sheet_on_which_nothing_was_judged_says_nothing() -> None:
    assert performance_episode(day=DAY, source_id="o", marks={"a": StepMark.NOT_SEEN}, prompted=[]) is None
