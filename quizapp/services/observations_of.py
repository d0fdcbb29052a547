"""Lists of observations, each by one statement, and one record for those who may see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Select, select
from sqlalchemy.orm import aliased

from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.roles import Role, bases_for
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.observation_sheet import Sheet, sheet_of
from quizapp.services.performance_pairs import is_hidden
from quizapp.store.observations import Observation
from quizapp.store.people import Person

NEWEST = 100
_ASSESSOR = aliased(Person)


@dataclass(frozen=True, kw_only=True)
class ObservationLine:
    """One observation in a list; `decision` is None until the sheet is locked."""

    id: str
    procedure_code: str
    title: str
    person_id: str
    person_name: str
    assessor_id: str
    assessor_name: str
    opened_at: datetime
    locked_at: datetime | None
    is_signed: bool
    needs_counter_signature: bool
    decision: Decision | None
    void_reason: str
    is_from_paper: bool


def my_sheets(act: Act) -> tuple[ObservationLine, ...]:
    """Return the newest sheets of which the actor is the assessor or which the actor writes over, newest first."""
    own, me = Observation, act.actor.person_id
    writes_over = (own.transcribed_by == me) & own.locked_at.is_(None)
    return _lines(act, _newest().where((own.assessor_id == me) | writes_over))


def to_counter_sign(act: Act) -> tuple[ObservationLine, ...]:
    """Return locked sheets of assessors who were not current, at bases where the actor may counter-sign."""
    reach = bases_for(act.actor.roles_held, Role.ASSESSOR, act.today)
    wanted = _newest().where(
        Observation.locked_at.is_not(None),
        Observation.signature_id.is_(None),
        Observation.assessor_was_current.is_(False),
        Observation.transcribed_by.is_(None),
        Observation.assessor_id != act.actor.person_id,
        Observation.person_id != act.actor.person_id,
        ~_hidden_from(act),
    )
    return _lines(act, wanted if reach.whole_service else wanted.where(Observation.base_id.in_(reach.base_ids)))


def observations_of(act: Act, person_id: str) -> tuple[ObservationLine, ...]:
    """Return the locked observations of one person, newest first: one's own, or at bases where one decides."""
    wanted = _newest().where(Observation.person_id == person_id, Observation.locked_at.is_not(None))
    if person_id != act.actor.person_id:
        reach = bases_for(act.actor.roles_held, Role.EDUCATOR, act.today)
        wanted = wanted.where(~_hidden_from(act))
        if not reach.whole_service:
            wanted = wanted.where(Observation.base_id.in_(reach.base_ids))
    return _lines(act, wanted)


def observation_record(act: Act, observation_id: str) -> Sheet:
    """Return a sheet for its assessor, and once it is locked for the person observed, whoever decides on them,
    and an assessor who may counter-sign; raises NotFound for everybody else.
    """
    row = act.session.get(Observation, observation_id)
    if row is None or not _may_see(act, row):
        raise NotFound("There is no such observation for you to see.")
    return sheet_of(act, row)


def _may_see(act: Act, row: Observation) -> bool:
    if row.assessor_id == act.actor.person_id:
        return True
    if row.locked_at is None or is_hidden(act, row):
        return False
    if row.person_id == act.actor.person_id:
        return True
    decides = has_right(act.actor, Right.DECIDE, act.today, row.base_id)
    waits = not row.assessor_was_current and row.signature_id is None and row.transcribed_by is None
    return decides or (waits and act.actor.holds(Role.ASSESSOR, act.today, row.base_id))


def _hidden_from(act: Act) -> ColumnElement[bool]:
    """Whether the actor marks the same performance and has not locked yet; what the other says stays hidden."""
    own = aliased(Observation)
    return (
        select(own.id)
        .where(
            own.performance_id == Observation.performance_id,
            own.assessor_id == act.actor.person_id,
            own.id != Observation.id,
            own.locked_at.is_(None),
            own.voided_at.is_(None),
        )
        .exists()
    )


def _newest() -> Select[Observation, str, str]:
    return (
        select(Observation, Person.name, _ASSESSOR.name)
        .join(Person, Person.id == Observation.person_id)
        .join(_ASSESSOR, _ASSESSOR.id == Observation.assessor_id)
        .order_by(Observation.opened_at.desc(), Observation.id)
        .limit(NEWEST)
    )


def _lines(act: Act, wanted: Select[Observation, str, str]) -> tuple[ObservationLine, ...]:
    return tuple(_line(row, person, assessor) for row, person, assessor in act.session.execute(wanted))


def _line(row: Observation, person_name: str, assessor_name: str) -> ObservationLine:
    return ObservationLine(
        id=row.id,
        procedure_code=row.procedure,
        title=row.frozen["title"],
        person_id=row.person_id,
        person_name=person_name,
        assessor_id=row.assessor_id,
        assessor_name=assessor_name,
        opened_at=row.opened_at,
        locked_at=row.locked_at,
        is_signed=row.signature_id is not None,
        needs_counter_signature=not row.assessor_was_current and row.signature_id is None,
        decision=Decision(row.result["decision"]) if row.result else None,
        void_reason=row.void_reason or "",
        is_from_paper=row.transcribed_by is not None,
    )
