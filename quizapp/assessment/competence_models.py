"""Which numbers the estimate runs on: the published ones, or those a service fitted to its own outcomes.

A local fit belongs to one track and carries a number; every state and forecast carries the version it was made with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from quizapp.assessment.competence_settings import MODEL_VERSION, Track, fade_model
from quizapp.psychometrics.competence import Belief, chance_competent, days_until_under
from quizapp.psychometrics.fade_model import LONG_RUN_VARIANCE, TAUGHT, FadeModel, Training
from quizapp.psychometrics.recalibration import AS_FORETOLD, Recalibration

FITS_A_VERSION = 10_000


@dataclass(frozen=True, kw_only=True)
class SkillModel:
    """How one skill fades, what a course does, and what a forecast stands for here."""

    fade: FadeModel
    taught: Training = TAUGHT
    recalibration: Recalibration = AS_FORETOLD

    def chance(self, belief: Belief, days: float = 0) -> float:
        """The chance (0 to 1) that the standard is met `days` (0 and up) later."""
        return self.recalibration.chance(chance_competent(belief, self.fade, days))

    def days_until_under(self, belief: Belief, threshold_fraction: float) -> float | None:
        """In how many days the chance falls under a threshold (between 0 and 1); none and infinite as for a belief."""
        return days_until_under(belief, self.fade, self.recalibration.forecast(threshold_fraction))


@dataclass(frozen=True, kw_only=True)
class LocalFit:
    """What a service's own outcomes made of the published numbers of one track; the defaults change nothing.

    `half_life_factor` above 0 multiplies every half-life; `taught_target` is where a course leads, in logits.
    """

    half_life_factor: float = 1.0
    long_run_variance: float = LONG_RUN_VARIANCE
    taught_target: float = TAUGHT.target
    recalibration: Recalibration = AS_FORETOLD

    def model(self, competency: str, track: Track) -> SkillModel:
        """Return the model of a competency with these numbers."""
        published = fade_model(competency, track)
        return SkillModel(
            fade=FadeModel(
                half_life_days=published.half_life_days * self.half_life_factor,
                baseline=published.baseline,
                long_run_variance=self.long_run_variance,
            ),
            taught=Training(
                share_fraction=TAUGHT.share_fraction,
                target=self.taught_target,
                scatter_variance=TAUGHT.scatter_variance,
            ),
            recalibration=self.recalibration,
        )


AS_PUBLISHED = LocalFit()


@dataclass(frozen=True, kw_only=True)
class NumberedFit:
    """A fit in force and the number under which it is kept, from 1 up."""

    number: int
    fit: LocalFit


@dataclass(frozen=True, kw_only=True)
class CompetenceModels:
    """The models in force: those of the fits named, the published ones elsewhere."""

    fits: Mapping[Track, NumberedFit] = field(default_factory=dict)

    def of(self, competency: str, track: Track) -> SkillModel:
        """Return the model of one competency on one track."""
        numbered = self.fits.get(track)
        return (numbered.fit if numbered else AS_PUBLISHED).model(competency, track)

    def version(self, track: Track) -> int:
        """Return the version that states and forecasts of a track carry."""
        numbered = self.fits.get(track)
        return MODEL_VERSION if numbered is None else MODEL_VERSION * FITS_A_VERSION + numbered.number


PUBLISHED = CompetenceModels()
