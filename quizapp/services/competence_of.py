"""The estimate of competence as it is read: of many people at once, on any day from the last evidence on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import inf

from quizapp.assessment.competence_history import CompetenceState
from quizapp.assessment.competence_models import SkillModel
from quizapp.assessment.competence_settings import Track
from quizapp.errors import BadInput
from quizapp.psychometrics.competence_gaussian import Moments, faded_moments
from quizapp.services.act import Act
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_states import state_rows, states_in

BAND_SDS = 1.2816
"""So many standard deviations either way hold about eight chances in ten."""


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """What is believed of one competency of one person on one track on a day. It advises and decides nothing.

    `model`: how the skill fades, and what a forecast stands for here.
    """

    competency: str
    track: Track
    day: date
    state: CompetenceState
    model: SkillModel

    @property
    def is_assessed(self) -> bool:
        """Whether others ever assessed it; practice alone begins as for somebody untrained and says little."""
        return self.state.is_taught

    @cached_property
    def chance_fraction(self) -> float:
        """The chance (0 to 1) that the standard is met on the day."""
        return self.chance_after(0)

    @cached_property
    def moments(self) -> Moments:
        """Mean and variance of the skill on the day, in logits above the standard."""
        after = Moments(mean=self.state.belief.mean, variance=self.state.belief.sd**2)
        return faded_moments(after, self.model.fade, self._gap_days)

    @property
    def band(self) -> tuple[float, float]:
        """Between which skills (logits above the standard) eight chances in ten lie."""
        return self.moments.mean - BAND_SDS * self.moments.sd, self.moments.mean + BAND_SDS * self.moments.sd

    def chance_after(self, days: int) -> float:
        """The chance (0 to 1) that the standard is met `days` (0 and up) after the day, without new evidence."""
        return self.model.chance(self.state.belief, self._gap_days + days)

    def falls_under(self, threshold_fraction: float) -> date | None:
        """The first day on which the chance lies under a threshold (0 to 1); the day itself where it does already.

        None where it never falls so low within the calendar.
        """
        days = self.model.days_until_under(self.state.belief, threshold_fraction)
        if days is None:
            return self.day
        if days == inf or days > (date.max - self.state.last_day).days - 1:
            return None
        return max(self.day, self.state.last_day + timedelta(days=int(days) + 1))

    @property
    def _gap_days(self) -> int:
        return (self.day - self.state.last_day).days


def competence_of(act: Act, person_ids: Sequence[str], *, on: date | None = None) -> dict[str, list[Estimate]]:
    """Return the estimates of people, by competency and track, with one statement; nobody's where nothing is known.

    on: a day from the last evidence on (default: today). Raises BadInput for a day before it: that would not be a
    forecast but a look at evidence still to come.
    """
    day = on or act.today
    found: dict[str, list[Estimate]] = defaultdict(list)
    models = models_in_force(act.session)
    for skill, state in states_in(state_rows(act.session, person_ids), models).items():
        if day < state.last_day:
            raise BadInput(
                f"The last evidence is of {state.last_day}; an estimate of {day} would look back. Ask for a later day.",
                field="on",
            )
        model = models.of(skill.competency, skill.track)
        found[skill.person_id].append(
            Estimate(competency=skill.competency, track=skill.track, day=day, state=state, model=model)
        )
    for estimates in found.values():
        estimates.sort(key=lambda one: (len(one.competency), one.competency, one.track))
    return dict(found)
