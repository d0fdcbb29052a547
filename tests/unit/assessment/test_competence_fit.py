"""Fitting to outcomes of one's own: nothing without any, better forecasts of people it never saw, shrunk where few."""

from __future__ import annotations

from math import log

import pytest

from quizapp.assessment.competence_fit import (
    FURTHEST_FACTOR,
    LOG_FACTOR_SD,
    TARGET_SD,
    fitted,
    foretold_by,
    line_alone,
)
from quizapp.assessment.competence_history import believed, told_again
from quizapp.assessment.competence_models import (
    AS_PUBLISHED,
    PUBLISHED,
    CompetenceModels,
    LocalFit,
    NumberedFit,
)
from quizapp.assessment.competence_settings import MODEL_VERSION, Track, fade_model
from quizapp.cli.simulated.worlds import World, clinicians
from quizapp.psychometrics.calibration import brier, log_loss
from quizapp.psychometrics.competence import chance_competent
from quizapp.psychometrics.fade_model import TAUGHT
from quizapp.psychometrics.recalibration import Recalibration

SLOW = LocalFit(half_life_factor=3.0, long_run_variance=0.5, taught_target=1.0)
LINED = LocalFit(recalibration=Recalibration(intercept=1.0, slope=0.5))


def test_without_outcomes_the_published_numbers_stay() -> None:
    assert fitted([]) == AS_PUBLISHED
    known = [one.history for one in clinicians(World.MATCHING, 3, 1)]
    assert line_alone([]) == AS_PUBLISHED
    assert AS_PUBLISHED.model("C8", Track.PERFORMANCE).fade == fade_model("C8", Track.PERFORMANCE)
    assert foretold_by(AS_PUBLISHED, known) == foretold_by(LocalFit(), known)


def test_what_is_foretold_comes_from_the_days_before_alone() -> None:
    history = clinicians(World.MATCHING, 1, 4)[0].history
    found = foretold_by(AS_PUBLISHED, [history])
    model = fade_model(history.competency, history.track)
    states = told_again(model, history.episodes)
    for place, episode in enumerate(history.episodes[1:]):
        before = believed(states[place], model, episode.day, is_assessed=True)
        assert found[place].chance_fraction == pytest.approx(chance_competent(before, model))
        assert found[place].was_shown is history.shown[episode.source_id]


def test_a_fit_foretells_people_it_never_saw_better() -> None:
    known = [one.history for one in clinicians(World.POWER_LAW, 60, 10)]
    others = [one.history for one in clinicians(World.POWER_LAW, 60, 11)]
    heard: list[float] = []
    fit = fitted(known, heard.append)
    assert len(heard) > 10
    before, line, after = (foretold_by(one, others) for one in (AS_PUBLISHED, line_alone(known), fit))
    assert brier(after) < brier(line) < brier(before)
    assert log_loss(after) < log_loss(line) < log_loss(before)
    assert 1 / FURTHEST_FACTOR <= fit.half_life_factor <= FURTHEST_FACTOR


def test_few_outcomes_are_shrunk_to_the_published_numbers() -> None:
    fit = fitted([one.history for one in clinicians(World.MATCHING, 2, 5)])
    assert abs(log(fit.half_life_factor)) < LOG_FACTOR_SD
    assert abs(fit.taught_target - TAUGHT.target) < TARGET_SD
    assert abs(fit.recalibration.intercept) < 1.0


def test_a_fit_moves_one_track_and_gives_it_a_version_of_its_own() -> None:
    models = CompetenceModels(fits={Track.KNOWLEDGE: NumberedFit(number=7, fit=SLOW)})
    assert models.of("C8", Track.KNOWLEDGE).fade.half_life_days == 3 * 365
    assert models.of("C8", Track.KNOWLEDGE).taught.target == 1.0
    assert models.of("C8", Track.PERFORMANCE) == PUBLISHED.of("C8", Track.PERFORMANCE)
    assert models.version(Track.KNOWLEDGE) != models.version(Track.PERFORMANCE) == MODEL_VERSION


def test_a_threshold_is_met_by_what_a_forecast_stands_for() -> None:
    history = clinicians(World.MATCHING, 1, 6)[0].history
    plain, lined = (one.model(history.competency, history.track) for one in (AS_PUBLISHED, LINED))
    belief = told_again(plain.fade, history.episodes[:2])[-1].belief
    days = lined.days_until_under(belief, 0.6)
    assert days is not None
    assert days > 0
    assert lined.chance(belief, days) == pytest.approx(0.6, abs=1e-3)
    assert lined.chance(belief) == pytest.approx(LINED.recalibration.chance(plain.chance(belief)))
