"""Reads and writes the kept states of the estimate; a state of another model or another fit counts as absent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.competence_history import CompetenceState
from quizapp.assessment.competence_models import CompetenceModels
from quizapp.assessment.competence_settings import Track
from quizapp.psychometrics.competence import Belief
from quizapp.services.competence_episodes import Skill
from quizapp.store.competence import CompetenceStateRow

Rows = dict[Skill, CompetenceStateRow]


def state_rows(
    session: Session, person_ids: Sequence[str], *, track: Track | None = None, competencies: Sequence[str] = ()
) -> Rows:
    """Return the rows of people, of one track and some competencies only where given, with one statement."""
    wanted = select(CompetenceStateRow).where(CompetenceStateRow.person_id.in_(person_ids))
    if track is not None:
        wanted = wanted.where(CompetenceStateRow.track == track.value)
    if competencies:
        wanted = wanted.where(CompetenceStateRow.competency.in_(competencies))
    return {
        Skill(person_id=row.person_id, competency=row.competency, track=Track(row.track)): row
        for row in session.scalars(wanted)
    }


def states_in(rows: Mapping[Skill, CompetenceStateRow], models: CompetenceModels) -> dict[Skill, CompetenceState]:
    """Return the states that rows of these models hold."""
    return {
        skill: CompetenceState(
            belief=Belief.from_bytes(row.mass),
            last_day=row.last_day,
            is_taught=row.is_taught,
            evidence_count=row.evidence_count,
        )
        for skill, row in rows.items()
        if row.model_version == models.version(skill.track)
    }


def keep_states(
    session: Session,
    now: datetime,
    states: Mapping[Skill, CompetenceState],
    rows: Mapping[Skill, CompetenceStateRow],
    models: CompetenceModels,
) -> None:
    """Write states made by these models, over their rows where there are any."""
    for skill, state in states.items():
        row = rows.get(skill)
        if row is None:
            row = CompetenceStateRow(person_id=skill.person_id, competency=skill.competency, track=skill.track.value)
            session.add(row)
        row.mass, row.mean, row.sd = state.belief.to_bytes(), state.belief.mean, state.belief.sd
        row.last_day, row.is_taught, row.evidence_count = state.last_day, state.is_taught, state.evidence_count
        row.model_version, row.updated_at = models.version(skill.track), now
