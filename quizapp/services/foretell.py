"""Stores what the estimate foretells when a sitting or an observation begins, before anybody can know the outcome."""

from __future__ import annotations

from collections.abc import Sequence

from quizapp.assessment.competence_history import CompetenceState, believed
from quizapp.assessment.competence_models import SkillModel
from quizapp.assessment.competence_settings import Track
from quizapp.services.act import Act
from quizapp.services.competence_episodes import Skill
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_states import state_rows, states_in
from quizapp.store.competence import CompetencePrediction


def foretell(act: Act, *, person_id: str, track: Track, competencies: Sequence[str], source_id: str) -> None:
    """Store, for each competency that is about to be assessed, the chance that the person meets the standard today.

    `source_id`: the sitting or observation that begins.
    """
    models = models_in_force(act.session)
    states = states_in(state_rows(act.session, [person_id], track=track, competencies=competencies), models)
    for competency in sorted(set(competencies)):
        state = states.get(Skill(person_id=person_id, competency=competency, track=track))
        act.session.add(
            CompetencePrediction(
                id=act.randomness.new_id(),
                person_id=person_id,
                competency=competency,
                track=track.value,
                source_id=source_id,
                chance_fraction=_chance(act, models.of(competency, track), state),
                gap_days=None if state is None else _gap_days(act, state),
                model_version=models.version(track),
                predicted_at=act.now,
            )
        )


def _chance(act: Act, model: SkillModel, state: CompetenceState | None) -> float:
    if state is not None and state.is_taught:
        return model.chance(state.belief, _gap_days(act, state))
    day = act.today if state is None else max(act.today, state.last_day)
    return model.chance(believed(state, model.fade, day, is_assessed=True, taught=model.taught))


def _gap_days(act: Act, state: CompetenceState) -> int:
    return max(0, (act.today - state.last_day).days)
