"""One observation as its assessor works on it: the frozen procedure, every tap so far, and what they add up to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.frozen_procedure import from_json
from quizapp.assessment.observation_event_json import event_from_json
from quizapp.assessment.observation_events import ObservationEvent, observation_state
from quizapp.assessment.observation_rules import ObservationResult, judge_observation
from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.observation_state import ObservationState
from quizapp.assessment.procedures import Procedure
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.store.observations import Observation
from quizapp.store.observations import ObservationEvent as EventRow
from quizapp.store.people import Person, RescueBase


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Everything a page or a rule needs of one observation; `result` is always judged anew from the taps."""

    id: str
    person_id: str
    person_name: str
    person_profession: str
    base_name: str
    assessor_id: str
    assessor_name: str
    assessor_was_current: bool
    procedure: Procedure
    device: str
    setting: ObservationSetting
    presented: frozenset[str]
    counts_for_sign_off: bool
    opened_at: datetime
    locked_at: datetime | None
    confirmed_at: datetime | None
    person_comment: str
    global_rating: int | None
    signature_id: str | None
    performance_id: str
    connection: str
    transcribed_by: str
    transcriber_name: str
    happened_at: datetime
    voided_at: datetime | None
    void_reason: str
    events: tuple[ObservationEvent, ...]
    state: ObservationState
    result: ObservationResult

    @property
    def needs_counter_signature(self) -> bool:
        """Whether the assessor was not current and nobody who is has signed yet."""
        return not self.assessor_was_current and self.signature_id is None


def own_sheet(act: Act, observation_id: str) -> Sheet:
    """Return a sheet of which the actor is the assessor; raises NotFound for any other."""
    return sheet_of(act, own_row(act, observation_id))


def own_row(act: Act, observation_id: str, *, for_change: bool = False) -> Observation:
    """Return the stored row of a sheet of the actor's, locked against other writers when it is about to change.

    Raises NotFound for a sheet of somebody else.
    """
    wanted = select(Observation).where(Observation.id == observation_id)
    row = act.session.scalar(wanted.with_for_update() if for_change else wanted)
    if row is None or not _works_on(act, row):
        raise NotFound("There is no such sheet of yours. Nothing was changed. Look at the list of your observations.")
    return row


def _works_on(act: Act, row: Observation) -> bool:
    """The assessor, and until it is locked whoever writes the assessor's paper sheet over."""
    if row.assessor_id == act.actor.person_id:
        return True
    return row.locked_at is None and row.transcribed_by == act.actor.person_id


def events_of(act: Act, observation_id: str) -> tuple[ObservationEvent, ...]:
    """Return every tap stored for a sheet, in no particular order."""
    bodies = act.session.scalars(select(EventRow.body).where(EventRow.observation_id == observation_id))
    return tuple(event_from_json(body) for body in bodies)


def sheet_of(act: Act, row: Observation) -> Sheet:
    """Build the sheet of a stored row; who may see it is for the caller to say."""
    events = events_of(act, row.id)
    procedure, state = from_json(row.frozen), observation_state(events)
    person, assessor, transcriber, base_name = _people(act, row)
    presented = frozenset(row.presented)
    return Sheet(
        id=row.id,
        person_id=person.id,
        person_name=person.name,
        person_profession=person.profession,
        base_name=base_name,
        assessor_id=assessor.id,
        assessor_name=assessor.name,
        assessor_was_current=row.assessor_was_current,
        procedure=procedure,
        device=f"{row.profile_code} revision {row.profile_revision}",
        setting=ObservationSetting(row.setting),
        presented=presented,
        counts_for_sign_off=row.counts_for_sign_off,
        opened_at=row.opened_at,
        locked_at=row.locked_at,
        confirmed_at=row.person_confirmed_at,
        person_comment=row.person_comment or "",
        global_rating=row.global_rating,
        signature_id=row.signature_id,
        performance_id=row.performance_id,
        connection=row.connection or "",
        transcribed_by=row.transcribed_by or "",
        transcriber_name=transcriber.name if transcriber else "",
        happened_at=row.happened_at,
        voided_at=row.voided_at,
        void_reason=row.void_reason or "",
        events=events,
        state=state,
        result=judge_observation(procedure, state, presented=presented),
    )


def _people(act: Act, row: Observation) -> tuple[Person, Person, Person | None, str]:
    """The person observed, the assessor, who wrote the sheet over from paper if anybody did, and the base's name."""
    ids = [row.person_id, row.assessor_id, *([row.transcribed_by] if row.transcribed_by else [])]
    found = {
        person.id: (person, base_name)
        for person, base_name in act.session.execute(
            select(Person, RescueBase.name).join(RescueBase, RescueBase.id == row.base_id).where(Person.id.in_(ids))
        )
    }
    transcriber = found[row.transcribed_by][0] if row.transcribed_by else None
    return found[row.person_id][0], found[row.assessor_id][0], transcriber, found[row.person_id][1]
