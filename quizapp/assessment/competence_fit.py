"""Fits the numbers of one track to a service's own outcomes, shrunk towards the published ones.

Half-life, long-run variance and what a course does are searched by quick moments, each judged with the logistic line
that suits it best; the line itself is then fitted on the grid.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import exp, log

from quizapp.assessment.competence_evidence import Episode
from quizapp.assessment.competence_history import CompetenceState, advanced, believed
from quizapp.assessment.competence_models import AS_PUBLISHED, LocalFit, SkillModel
from quizapp.assessment.competence_settings import Track
from quizapp.psychometrics.calibration import Foretold
from quizapp.psychometrics.competence import chance_competent
from quizapp.psychometrics.competence_gaussian import (
    chance_of_moments,
    faded_moments,
    learned_moments,
    trained_moments,
    untrained_moments,
)
from quizapp.psychometrics.fade_model import LONG_RUN_VARIANCE, TAUGHT
from quizapp.psychometrics.pattern_search import Point, lowest_place
from quizapp.psychometrics.recalibration import AS_FORETOLD, recalibrated_cost, shrunk_recalibration

LOG_FACTOR_SD = 0.7
LOG_VARIANCE_SD = 0.5
TARGET_SD = 0.5
"""How far, before any outcome, a service may lie from the published numbers. Ours (assumption)."""
FIRST_STEPS = (0.5, 0.3, 0.4)
FURTHEST_FACTOR = 8.0
"""A half-life or a variance eight times as large or small as published is no local difference any more."""


@dataclass(frozen=True, kw_only=True)
class AssessedHistory:
    """The evidence of one person, competency and track, and by its source whether the standard was shown."""

    competency: str
    track: Track
    episodes: tuple[Episode, ...]
    shown: Mapping[str, bool]

    def days(self) -> list[tuple[list[Episode], list[bool]]]:
        """Return the episodes of each day, oldest first, with the outcomes of that day."""
        ordered = sorted(self.episodes, key=lambda one: (one.day, one.source_id))
        grouped = [list(found) for _day, found in groupby(ordered, key=lambda one: one.day)]
        return [(day, [self.shown[one.source_id] for one in day if one.source_id in self.shown]) for day in grouped]


def foretold_by(fit: LocalFit, histories: Sequence[AssessedHistory]) -> list[Foretold]:
    """Return what the estimate would have foretold of each outcome from the days before it alone."""
    return [one for history in histories for one in _foretold(fit.model(history.competency, history.track), history)]


def _foretold(model: SkillModel, history: AssessedHistory) -> list[Foretold]:
    state: CompetenceState | None = None
    found: list[Foretold] = []
    for episodes, outcomes in history.days():
        if outcomes:
            before = believed(state, model.fade, episodes[0].day, is_assessed=True, taught=model.taught)
            chance = model.recalibration.chance(chance_competent(before, model.fade))
            found += [Foretold(chance_fraction=chance, was_shown=was_shown) for was_shown in outcomes]
        state = advanced(state, model.fade, episodes, taught=model.taught)
    return found


def fitted(histories: Sequence[AssessedHistory], told: Callable[[float], None] | None = None) -> LocalFit:
    """Return the fit to all outcomes in the histories; `told` hears the cost of each set of numbers tried.

    The outcomes of one sitting are taken as so many; being shrunk keeps few of them from saying much.
    """
    if not any(history.shown for history in histories):
        return AS_PUBLISHED
    place = lowest_place(lambda point: _cost(point, histories), (0.0, 0.0, TAUGHT.target), FIRST_STEPS, told=told)
    plain = _at(place)
    return replace(plain, recalibration=shrunk_recalibration(foretold_by(plain, histories)))


def line_alone(histories: Sequence[AssessedHistory]) -> LocalFit:
    """Return the published numbers with nothing but the logistic line fitted."""
    return replace(AS_PUBLISHED, recalibration=shrunk_recalibration(foretold_by(AS_PUBLISHED, histories)))


def _at(point: Point) -> LocalFit:
    log_factor, log_variance, target = point
    return LocalFit(
        half_life_factor=exp(log_factor),
        long_run_variance=LONG_RUN_VARIANCE * exp(log_variance),
        taught_target=target,
        recalibration=AS_FORETOLD,
    )


def _cost(point: Point, histories: Sequence[AssessedHistory]) -> float:
    log_factor, log_variance, target = point
    if max(abs(log_factor), abs(log_variance)) > log(FURTHEST_FACTOR):
        return float("inf")
    fit = _at(point)
    foretold = [
        one for history in histories for one in _by_moments(fit.model(history.competency, history.track), history)
    ]
    prior = (
        (log_factor / LOG_FACTOR_SD) ** 2
        + (log_variance / LOG_VARIANCE_SD) ** 2
        + ((target - TAUGHT.target) / TARGET_SD) ** 2
    )
    return recalibrated_cost(foretold) + prior / 2.0


def _by_moments(model: SkillModel, history: AssessedHistory) -> list[Foretold]:
    """The same as `_foretold` by mean and variance: close enough to compare numbers, and much quicker."""
    moments, last, is_taught = untrained_moments(model.fade), None, False
    found: list[Foretold] = []
    for episodes, outcomes in history.days():
        if last is not None:
            moments = faded_moments(moments, model.fade, (episodes[0].day - last).days)
        last = episodes[0].day
        if not is_taught and (outcomes or any(one.is_assessed for one in episodes)):
            moments, is_taught = trained_moments(moments, model.taught), True
        if outcomes:
            chance = chance_of_moments(moments)
            found += [Foretold(chance_fraction=chance, was_shown=was_shown) for was_shown in outcomes]
        moments = learned_moments(moments, [answer for one in episodes for answer in one.answers])
    return found
