from __future__ import annotations

import itertools
from datetime import date, timedelta

import numpy as np
import pytest

from quizapp.assessment.competence_evidence import Episode, Given, knowledge_episode, performance_episode
from quizapp.assessment.competence_history import advanced, believed, can_advance, told_again
from quizapp.assessment.competence_settings import KNOWLEDGE_HALF_LIFE_DAYS, Track, fade_model
from quizapp.assessment.observation_state import StepMark
from quizapp.psychometrics.competence import chance_competent

START = date(2026, 3, 2)
KNOWLEDGE = fade_model("C8", Track.KNOWLEDGE)
PERFORMANCE = fade_model("C8", Track.PERFORMANCE)


def form(day: int, *earned: float, is_assessed: bool = True, name: str = "s") -> Episode:
    given = [
        Given(credit_fraction=one, just_competent_fraction=None, option_count=0, freshness_fraction=1.0)
        for one in earned
    ]
    return knowledge_episode(
        day=START + timedelta(days=day), source_id=f"{name}{day}", is_assessed=is_assessed, given=given
    )


def watched(day: int, done: int = 12) -> Episode:
    marks = {f"{number:02}": StepMark.DONE if number < done else StepMark.NOT_DONE for number in range(12)}
    episode = performance_episode(day=START + timedelta(days=day), source_id=f"o{day}", marks=marks, prompted=[])
    assert episode is not None
    return episode


def test_the_half_lives_of_the_tracks() -> None:
    assert KNOWLEDGE.half_life_days == KNOWLEDGE_HALF_LIFE_DAYS == 365
    assert [fade_model(code, Track.PERFORMANCE).half_life_days for code in ("C2", "C8", "C10", "C99")] == [
        335, 198, 396, 335,
    ]  # fmt: skip


def test_who_is_assessed_was_taught_and_who_practises_alone_was_not() -> None:
    assert chance_competent(believed(None, KNOWLEDGE, START, is_assessed=True), KNOWLEDGE) == pytest.approx(
        0.749, abs=0.001
    )
    assert chance_competent(believed(None, KNOWLEDGE, START, is_assessed=False), KNOWLEDGE) < 0.07
    alone = advanced(None, KNOWLEDGE, [form(0, 1.0, is_assessed=False)])
    assert not alone.is_taught
    assert chance_competent(believed(alone, KNOWLEDGE, START, is_assessed=True), KNOWLEDGE) > 0.74


def test_teaching_goes_ahead_of_a_practice_on_the_same_day() -> None:
    practice, assessed = form(0, 1.0, 0.0, is_assessed=False, name="p"), form(0, 1.0, 1.0)
    alone = advanced(None, KNOWLEDGE, [practice])
    assert not can_advance(alone, [assessed])
    with pytest.raises(ValueError, match="tell the history again"):
        advanced(alone, KNOWLEDGE, [assessed])
    together = told_again(KNOWLEDGE, [assessed, practice])
    one_after_the_other = advanced(advanced(None, KNOWLEDGE, [assessed]), KNOWLEDGE, [practice])
    assert np.allclose(together[-1].belief.mass, one_after_the_other.belief.mass, atol=1e-14)


def test_late_evidence_is_refused_and_the_history_told_again_has_it_in_its_place() -> None:
    later = advanced(advanced(None, PERFORMANCE, [watched(0)]), PERFORMANCE, [watched(40, 9)])
    with pytest.raises(ValueError, match="tell the history again"):
        advanced(later, PERFORMANCE, [watched(20)])
    told = told_again(PERFORMANCE, [watched(40, 9), watched(0), watched(20)])
    assert [state.last_day for state in told] == [START + timedelta(days=day) for day in (0, 20, 40)]
    assert told[-1].evidence_count == 36


def test_advancing_day_by_day_equals_telling_the_history_in_any_order() -> None:
    episodes = [form(0, 1.0, 0.0), form(30, 1.0, is_assessed=False), form(30, 0.5, 1.0, name="t"), form(200, 1.0)]
    state = None
    for episode in episodes:
        state = advanced(state, KNOWLEDGE, [episode])
    assert state is not None
    for order in itertools.permutations(episodes):
        again = told_again(KNOWLEDGE, order)[-1]
        assert np.max(np.abs(again.belief.mass - state.belief.mass)) < 1e-12
        assert (again.last_day, again.is_taught, again.evidence_count) == (state.last_day, True, 6)


def test_tracks_and_days_are_never_mixed() -> None:
    for mixed in ([form(0, 1.0), watched(0)], [form(0, 1.0), form(1, 1.0)]):
        with pytest.raises(ValueError, match="nothing else"):
            advanced(None, KNOWLEDGE, mixed)


def test_nothing_is_believed_of_a_day_before_the_last_evidence() -> None:
    state = advanced(None, KNOWLEDGE, [form(10, 1.0)])
    with pytest.raises(ValueError, match="after the last evidence"):
        believed(state, KNOWLEDGE, START, is_assessed=True)


def test_five_perfect_forms_leave_the_hands_where_they_were() -> None:
    """Pooled, they would bring the chance of the hands to almost 1; told apart, the performance track has no entry."""
    forms = [form(day, *[1.0] * 10) for day in range(5)]
    assert chance_competent(told_again(KNOWLEDGE, forms)[-1].belief, KNOWLEDGE) > 0.995
    assert told_again(PERFORMANCE, []) == []
