"""Makes the states of the estimate of competence anew from sittings and observations, some people at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_history import CompetenceState
from quizapp.psychometrics.competence import Belief
from quizapp.services.audit_trail import SYSTEM, append
from quizapp.services.competence_episodes import episodes_of
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_states import keep_states, state_rows, states_in
from quizapp.services.update_competence import told_from_records
from quizapp.store.people import Person

PEOPLE_AT_ONCE = 50
SAME_WITHIN = 1e-9
"""A mass told again may differ so much from the one kept, by the order of sums alone."""


@dataclass(frozen=True, kw_only=True)
class Rebuilt:
    """How many people and states were told again, and how many states were not as they should be."""

    people: int
    states: int
    differed: int

    def with_more(self, other: Rebuilt) -> Rebuilt:
        """Return the sum of two parts."""
        return Rebuilt(
            people=self.people + other.people,
            states=self.states + other.states,
            differed=self.differed + other.differed,
        )


def people_in_parts(session: Session) -> Iterator[list[str]]:
    """Give the ids of everybody, some at a time, each part small enough for one quick transaction."""
    ids = list(session.scalars(select(Person.id).order_by(Person.id)))
    for start in range(0, len(ids), PEOPLE_AT_ONCE):
        yield ids[start : start + PEOPLE_AT_ONCE]


def rebuild_competence(session: Session, now: datetime, zone: ZoneInfo, person_ids: Sequence[str]) -> Rebuilt:
    """Tell the states of these people again from their records and keep them; a state without evidence goes."""
    append(session, now, actor_id=SYSTEM, event=AuditEvent.COMPETENCE_REBUILT, object_type="competence",
           object_id=f"{len(person_ids)} people", details={"people": len(person_ids)})  # fmt: skip
    return put_right(session, now, zone, person_ids)


def put_right(session: Session, now: datetime, zone: ZoneInfo, person_ids: Sequence[str]) -> Rebuilt:
    """Do the same within an act that changed what the records say and left its own row on the audit trail."""
    episodes = episodes_of(session, zone, person_ids)
    models = models_in_force(session)
    states = told_from_records(episodes, sorted(episodes), models)
    rows = state_rows(session, person_ids)
    before = states_in(rows, models)
    gone = [skill for skill in rows if skill not in states]
    differed = [skill for skill, state in states.items() if not is_same(before.get(skill), state)]
    for skill in gone:
        session.delete(rows[skill])
    keep_states(session, now, {skill: states[skill] for skill in differed}, rows, models)
    return Rebuilt(people=len(person_ids), states=len(states), differed=len(differed) + len(gone))


def is_same(kept: CompetenceState | None, told: CompetenceState) -> bool:
    """Whether a kept state is what its history tells, to 1e-9 in each mass."""
    if kept is None:
        return False
    facts = (kept.last_day, kept.is_taught, kept.evidence_count)
    return facts == (told.last_day, told.is_taught, told.evidence_count) and _furthest(kept.belief, told.belief) <= (
        SAME_WITHIN
    )


def _furthest(one: Belief, other: Belief) -> float:
    return float(abs(one.mass - other.mass).max())
