"""The estimator: worked history, bounds, refusals, and what must have no effect."""

from __future__ import annotations

import math
import random
import time

import numpy as np
import pytest
from competence_examples import MIXED, checklist, one_answer, quiz

from quizapp.psychometrics.competence import (
    Belief,
    chance_competent,
    days_until_under,
    faded,
    learned,
    trained,
    untrained,
)
from quizapp.psychometrics.competence_gaussian import (
    Moments,
    chance_of_moments,
    days_until_moments_under,
    faded_moments,
    learned_moments,
    trained_moments,
    untrained_moments,
)
from quizapp.psychometrics.fade_model import TAUGHT, FadeModel


def worked_beliefs() -> list[Belief]:
    """Course, quiz 9 of 10, checklist 12 of 12; day 180 quiz 7 of 10; day 185 checklist 11 of 12."""
    course = trained(untrained(MIXED), TAUGHT)
    first_quiz = learned(course, quiz(9))
    first_sheet = learned(first_quiz, checklist(12))
    before = faded(first_sheet, MIXED, 180)
    second_quiz = learned(before, quiz(7))
    second_sheet = learned(faded(second_quiz, MIXED, 5), checklist(11))
    return [course, first_quiz, first_sheet, before, second_quiz, second_sheet]


# Worked by an independent program on 1301 nodes. Means within .003, chances within .002.
WORKED = [(0.600001, 0.748829), (1.173049, 0.942829), (1.682864, 0.998245), (0.693, 0.794843),
          (0.726233, 0.854098), (1.126515, 0.98244)]  # fmt: skip
WORKED_SDS = [0.894, 0.747, 0.619, 0.841, 0.693, 0.555]


@pytest.mark.parametrize("place", range(6))
def test_the_worked_history(place: int) -> None:
    belief = worked_beliefs()[place]
    mean, chance = WORKED[place]
    assert belief.mean == pytest.approx(mean, abs=0.003)
    assert chance_competent(belief, MIXED) == pytest.approx(chance, abs=0.002)
    assert belief.sd == pytest.approx(WORKED_SDS[place], abs=0.003)


@pytest.mark.parametrize(
    ("days", "chance"), [(0, 0.98244), (30, 0.942472), (90, 0.82662), (180, 0.646602), (270, 0.500592), (365, 0.386)]
)
def test_the_forecast_of_the_worked_history(days: int, chance: float) -> None:
    assert chance_competent(worked_beliefs()[-1], MIXED, days) == pytest.approx(chance, abs=0.002)


@pytest.mark.parametrize(
    ("threshold", "days", "by_moments"),
    [(0.9, 53.7, 53.5), (0.8, 102.8, 103.4), (0.7, 151.9, 152.7), (0.5, 270.4, 271.1)],
)
def test_the_day_under_a_threshold(threshold: float, days: float, by_moments: float) -> None:
    assert days_until_under(worked_beliefs()[-1], MIXED, threshold) == pytest.approx(days, abs=0.1)
    moments = worked_moments()
    assert days_until_moments_under(moments, MIXED, threshold) == pytest.approx(by_moments, abs=0.1)


def test_after_a_first_sign_off_the_chance_falls_under_eighty_in_177_days() -> None:
    first_sheet = worked_beliefs()[2]
    assert days_until_under(first_sheet, MIXED, 0.8) == pytest.approx(177, abs=0.5)
    assert chance_competent(first_sheet, MIXED, 395) == pytest.approx(0.46, abs=0.005)


def test_seven_of_twelve_steps_after_a_course_are_far_from_competent() -> None:
    belief = learned(trained(untrained(MIXED), TAUGHT), checklist(7))
    assert chance_competent(belief, MIXED) == pytest.approx(0.699139, abs=0.002)


def worked_moments() -> Moments:
    moments = learned_moments(trained_moments(untrained_moments(MIXED), TAUGHT), quiz(9))
    moments = faded_moments(learned_moments(moments, checklist(12)), MIXED, 180)
    return learned_moments(faded_moments(learned_moments(moments, quiz(7)), MIXED, 5), checklist(11))


def test_moment_matching_gives_its_worked_chances() -> None:
    moments = trained_moments(untrained_moments(MIXED), TAUGHT)
    assert chance_of_moments(moments) == pytest.approx(0.749, abs=0.0005)
    moments = learned_moments(moments, quiz(9))
    assert chance_of_moments(moments) == pytest.approx(0.942, abs=0.0005)
    assert chance_of_moments(learned_moments(moments, checklist(12))) == pytest.approx(0.997, abs=0.0005)
    assert chance_of_moments(worked_moments()) == pytest.approx(0.980, abs=0.0006)


def test_one_right_answer_narrows_a_standard_normal_belief() -> None:
    found = learned_moments(Moments(mean=0.0, variance=1.0), [one_answer(1.0)])
    assert found.variance == pytest.approx(0.829231, abs=1e-5)


def test_fading_in_closed_form() -> None:
    faded_year = faded_moments(Moments(mean=1.0, variance=0.25), MIXED, 365)
    assert faded_year.mean == pytest.approx(-0.325232, abs=1e-6)


def test_the_closed_form_is_where_the_forecast_crosses() -> None:
    draw = random.Random(3)
    for _ in range(200):
        moments = Moments(mean=draw.uniform(-1, 3), variance=draw.uniform(0.05, 1.2))
        threshold = draw.choice((0.5, 0.6, 0.8, 0.9))
        days = days_until_moments_under(moments, MIXED, threshold)
        if days is None:
            assert chance_of_moments(moments) < threshold
            continue
        assert chance_of_moments(faded_moments(moments, MIXED, days)) == pytest.approx(threshold, abs=1e-9)


def test_grid_and_closed_form_agree_on_a_normal_belief() -> None:
    belief, moments = trained(untrained(MIXED), TAUGHT), trained_moments(untrained_moments(MIXED), TAUGHT)
    for threshold in (0.7, 0.6, 0.4):
        on_grid = days_until_under(belief, MIXED, threshold)
        assert on_grid == pytest.approx(days_until_moments_under(moments, MIXED, threshold), abs=0.3)


def test_a_forecast_needs_no_kernel_and_equals_fading() -> None:
    belief = worked_beliefs()[2]
    for days in (1, 31, 32, 33, 100, 400):
        by_kernel = chance_competent(faded(belief, MIXED, days), MIXED)
        assert chance_competent(belief, MIXED, days) == pytest.approx(by_kernel, abs=0.001)


def test_fading_widens_to_the_untrained_and_no_further() -> None:
    forgotten = faded(worked_beliefs()[-1], MIXED, 20 * 335)
    assert forgotten.mean == pytest.approx(-1.5, abs=0.001)
    assert forgotten.sd == pytest.approx(1.0, abs=0.002)
    assert chance_competent(forgotten, MIXED) == pytest.approx(0.0668, abs=0.001)


def test_nothing_is_forecast_before_the_last_evidence() -> None:
    belief = untrained(MIXED)
    for ask in (lambda: faded(belief, MIXED, -1), lambda: chance_competent(belief, MIXED, -0.5)):
        with pytest.raises(ValueError, match="after the last evidence"):
            ask()


@pytest.mark.parametrize("credit", [0.0, 1.0])
@pytest.mark.parametrize("count", [1, 12, 400])
def test_all_right_and_all_wrong_stay_finite(credit: float, count: int) -> None:
    belief = learned(untrained(MIXED), [one_answer(credit, slope=3.0)] * count)
    assert math.isfinite(belief.mean)
    assert -6.0 <= belief.mean <= 6.0
    assert belief.sd > 0
    assert belief.mass.sum() == pytest.approx(1.0)
    moments = learned_moments(untrained_moments(MIXED), [one_answer(credit)] * count)
    assert math.isfinite(moments.mean)
    assert moments.variance > 0


def test_evidence_against_all_belief_is_taken_in_without_dividing_by_nothing() -> None:
    sure = learned(untrained(MIXED), [one_answer(1.0, slope=8.0)] * 400)
    turned = learned(sure, [one_answer(0.0, slope=8.0)] * 4000)
    assert turned.mass.sum() == pytest.approx(1.0)
    assert turned.mean < sure.mean


def test_the_order_within_a_day_has_no_effect() -> None:
    answers = [*quiz(6), *checklist(10)]
    course = trained(untrained(MIXED), TAUGHT)
    expected = learned(course, answers).mass
    assert np.array_equal(learned(course, answers[::-1]).mass, expected)
    in_two = learned(learned(course, checklist(10)), quiz(6)).mass
    assert np.max(np.abs(in_two - expected)) < 1e-14


def test_half_a_credit_lies_between_and_weight_zero_says_nothing() -> None:
    start = trained(untrained(MIXED), TAUGHT)
    wrong, half, right = (learned(start, [one_answer(credit)]).mean for credit in (0.0, 0.5, 1.0))
    assert wrong < half < right
    assert learned(start, [one_answer(1.0, weight=0.0)]).mean == pytest.approx(start.mean)


def test_a_threshold_under_the_untrained_is_never_reached_and_one_above_is_passed_already() -> None:
    belief = worked_beliefs()[2]
    assert days_until_under(belief, MIXED, 0.05) == math.inf
    assert days_until_under(untrained(MIXED), MIXED, 0.8) is None


def test_a_belief_is_kept_exactly_and_damage_is_seen() -> None:
    belief = worked_beliefs()[-1]
    assert np.array_equal(Belief.from_bytes(belief.to_bytes()).mass, belief.mass)
    with pytest.raises(ValueError, match="no belief"):
        Belief.from_bytes(belief.to_bytes()[:-8])
    with pytest.raises(ValueError, match="sum to 1"):
        Belief.from_bytes(bytes(8 * 241))


def test_pooled_tracks_would_be_inflated_and_separate_ones_are_not() -> None:
    """Five perfect quizzes without hands-on evidence: pooled they would leave no doubt about the hands."""
    knowledge = performance = trained(untrained(MIXED), TAUGHT)
    for _ in range(5):
        knowledge = learned(knowledge, quiz(10))
    assert chance_competent(knowledge, MIXED) > 0.999
    assert chance_competent(performance, MIXED) == pytest.approx(0.749, abs=0.001)


def test_one_update_is_quick() -> None:
    """Fade, evidence and chance of one day: 5 ms of CPU at most, kernels of new gaps included."""
    belief, model = worked_beliefs()[0], FadeModel(half_life_days=222)
    begun = time.process_time()
    for gap in range(20, 120):
        chance_competent(learned(faded(belief, model, gap), checklist(9)), model)
    assert (time.process_time() - begun) / 100 < 0.005
