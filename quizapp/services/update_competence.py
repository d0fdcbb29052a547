"""Takes new evidence into the estimate of competence, in the same transaction in which the evidence is written.

The estimate advises: nothing here or after it grants, refuses or ends a sign-off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from quizapp.assessment.competence_evidence import Episode
from quizapp.assessment.competence_history import CompetenceState, advanced, can_advance, told_again
from quizapp.assessment.competence_models import CompetenceModels
from quizapp.assessment.competence_settings import Track
from quizapp.services.act import Act
from quizapp.services.competence_episodes import (
    Episodes,
    Skill,
    episodes_of,
    episodes_of_observation,
    episodes_of_sitting,
)
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_states import keep_states, state_rows, states_in
from quizapp.services.performance_pairs import other_sheets
from quizapp.store.observations import Observation
from quizapp.store.sittings import Sitting


def learn_from_sitting(act: Act, sitting: Sitting) -> None:
    """Take in a sitting that was just handed in: the knowledge track, one update for each competency answered.

    Call it after the act's audit row was written: its lock lets one update follow another.
    """
    _learn(act, sitting.person_id, Track.KNOWLEDGE, episodes_of_sitting(act.session, act.zone, sitting.id))


def learn_from_observation(act: Act, row: Observation) -> None:
    """Take in an observation that was just signed: the performance track, one update for each competency.

    Several sheets of one performance count as one, by what was decided about them. Call it after the act's audit row
    was written, as for a sitting.
    """
    new = episodes_of_observation(act.zone, row)
    _learn(act, row.person_id, Track.PERFORMANCE, new, may_advance=not other_sheets(act, row))


def _learn(act: Act, person_id: str, track: Track, new: Episodes, *, may_advance: bool = True) -> None:
    if not new:
        return
    rows = state_rows(act.session, [person_id], track=track, competencies=[skill.competency for skill in new])
    models = models_in_force(act.session)
    before = states_in(rows, models)
    ready = {
        skill
        for skill, episodes in new.items()
        if may_advance and skill in before and can_advance(before[skill], episodes)
    }
    states = {skill: _advanced(before[skill], models, skill, new[skill]) for skill in ready}
    if missing := [skill for skill in new if skill not in ready]:
        states |= told_from_records(episodes_of(act.session, act.zone, [person_id]), missing, models)
    keep_states(act.session, act.now, states, rows, models)


def _advanced(
    state: CompetenceState, models: CompetenceModels, skill: Skill, episodes: Sequence[Episode]
) -> CompetenceState:
    model = models.of(skill.competency, skill.track)
    return advanced(state, model.fade, episodes, taught=model.taught)


def told_from_records(
    episodes: Episodes, skills: Iterable[Skill], models: CompetenceModels
) -> dict[Skill, CompetenceState]:
    """Return the state of each of the skills that has any evidence, told again from the first on."""
    return {skill: all_told(episodes[skill], models, skill)[-1] for skill in skills if episodes.get(skill)}


def all_told(episodes: Sequence[Episode], models: CompetenceModels, skill: Skill) -> list[CompetenceState]:
    """Return the state after each day with evidence, oldest first."""
    model = models.of(skill.competency, skill.track)
    return told_again(model.fade, episodes, taught=model.taught)
