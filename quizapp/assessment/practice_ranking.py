"""What to practise next: the most chance gained a minute, and critical competencies under the threshold before all.

It orders practice and nothing else; practice on one's own never says anything about hands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from quizapp.assessment.competence_settings import PRACTISE_BELOW_FRACTION
from quizapp.psychometrics.competence_gaussian import (
    Moments,
    chance_of_moments,
    faded_moments,
    trained_moments,
)
from quizapp.psychometrics.fade_model import PRACTISED, FadeModel
from quizapp.psychometrics.recalibration import AS_FORETOLD, Recalibration

HORIZON_DAYS = 90
CRITICAL_WEIGHT = 5.0
OTHER_WEIGHT = 2.0
"""How much a lost chance matters where an error can hurt, and elsewhere. Ours (policy)."""


@dataclass(frozen=True, kw_only=True)
class PracticeCandidate:
    """Something to practise: as believed today, how it fades, how much it matters (above 0), how long it takes.

    `recalibration`: what a forecast stands for in this service.
    """

    code: str
    moments: Moments
    model: FadeModel
    weight: float
    minutes: float
    is_critical: bool = False
    recalibration: Recalibration = AS_FORETOLD


@dataclass(frozen=True, kw_only=True)
class RankedPractice:
    """A candidate with its chances (0 to 1) now, at the horizon without practice, and there after practice today."""

    candidate: PracticeCandidate
    chance_now_fraction: float
    chance_later_fraction: float
    chance_practised_fraction: float

    @property
    def gain(self) -> float:
        """The chance gained at the horizon, times how much it matters."""
        return self.candidate.weight * (self.chance_practised_fraction - self.chance_later_fraction)

    @property
    def gain_per_minute(self) -> float:
        """The gain for each minute of practice."""
        return self.gain / self.candidate.minutes

    @property
    def risk(self) -> float:
        """What is at stake without practice."""
        return self.candidate.weight * (1.0 - self.chance_later_fraction)

    @property
    def is_below(self) -> bool:
        """Whether today's chance lies under the threshold to practise now."""
        return self.chance_now_fraction < PRACTISE_BELOW_FRACTION

    @property
    def goes_first(self) -> bool:
        """Whether it is critical and under the threshold."""
        return self.candidate.is_critical and self.is_below


def ranked(candidates: Iterable[PracticeCandidate], *, horizon_days: int = HORIZON_DAYS) -> list[RankedPractice]:
    """Return the candidates, what to practise first at the top; equal ones by code.

    `horizon_days` 0 and up. Raises ValueError for a candidate without minutes.
    """
    return sorted((_ranked(one, horizon_days) for one in candidates), key=_place)


def _ranked(one: PracticeCandidate, horizon_days: int) -> RankedPractice:
    if one.minutes <= 0:
        raise ValueError(f"{one.code}: practice takes more than {one.minutes} minutes")
    practised, stands_for = trained_moments(one.moments, PRACTISED), one.recalibration.chance
    return RankedPractice(
        candidate=one,
        chance_now_fraction=stands_for(chance_of_moments(one.moments)),
        chance_later_fraction=stands_for(chance_of_moments(faded_moments(one.moments, one.model, horizon_days))),
        chance_practised_fraction=stands_for(chance_of_moments(faded_moments(practised, one.model, horizon_days))),
    )


def _place(one: RankedPractice) -> tuple[bool, float, str]:
    return not one.goes_first, -one.gain_per_minute, one.candidate.code
