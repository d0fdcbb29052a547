"""Takes in taps from a device: each once, whatever arrives twice, late, out of order or beside the point."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.observation_event_json import event_from_json, event_to_json
from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.errors import BadInput
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.observation_sheet import own_row
from quizapp.services.report_device_fault import report_device_fault
from quizapp.store.observations import FaultReport, LateEvent, Observation
from quizapp.store.observations import ObservationEvent as EventRow

MOST_AT_ONCE = 200
AFTER_THE_LOCK = "arrived after the sheet was locked"
AFTER_THE_DISCARD = "arrived after the sheet was discarded"
OTHER_CONTENTS = "came with the id of another tap; the first one counts"


class Taken(StrEnum):
    """What became of one tap that was sent."""

    SAVED = "saved"
    KNOWN = "known"
    LATE = "late"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class EventOutcome:
    """What became of one tap, in the order sent; only a refused one is not stored, and `message` says why."""

    event_id: str
    taken: Taken
    message: str = ""


def record_observation_events(act: Act, *, observation_id: str, sent: Sequence[object]) -> tuple[EventOutcome, ...]:
    """Store taps made on a device and return one outcome for each, in the order sent.

    A tap known already changes nothing; one for a locked sheet is kept apart with its reason, and so is one whose id
    came before with other contents. One that cannot be read is refused and does not hold up the others. A fault of
    the device becomes a report of its own, also when the sheet is closed.
    Raises NotFound for another assessor's sheet, BadInput for more than MOST_AT_ONCE taps.
    """
    if len(sent) > MOST_AT_ONCE:
        raise BadInput(f"{len(sent)} marks at once are too many: send at most {MOST_AT_ONCE}. Nothing was stored.")
    row = own_row(act, observation_id, for_change=True)
    intake = _Intake(act, row, {step["letter"] for step in row.frozen["steps"]})
    outcomes = intake.take_all(sent)
    act.session.flush()
    if intake.saved or intake.late:
        audit_trail.record(
            act, AuditEvent.OBSERVATION_RECEIVED, "observation", row.id, person_id=row.person_id,
            thing=row.procedure, after={"saved": intake.saved, "late": intake.late},
        )  # fmt: skip
    return outcomes


def event_row(event: ObservationEvent, observation_id: str, *, received_at: datetime) -> EventRow:
    """Return the row of one tap on a sheet, as it is stored."""
    return EventRow(
        id=event.event_id,
        observation_id=observation_id,
        device_sequence=event.sequence,
        kind=event.kind.value,
        step=event.step or None,
        body=event_to_json(event),
        device_at=event.device_time,
        received_at=received_at,
    )


class _Intake:
    def __init__(self, act: Act, row: Observation, letters: Collection[str]) -> None:
        self.act, self.row, self.letters = act, row, letters
        self.saved = self.late = 0
        self.known: dict[str, tuple[str, Any]] = {}
        self.known_late: set[str] = set()
        self.reported: dict[str, str | None] = {}

    def take_all(self, sent: Sequence[object]) -> tuple[EventOutcome, ...]:
        read = [self._read(values) for values in sent]
        events = [one for one in read if isinstance(one, ObservationEvent)]
        self._look_up(events)
        return tuple(self._take(one) if isinstance(one, ObservationEvent) else one for one in read)

    def _read(self, values: object) -> ObservationEvent | EventOutcome:
        try:
            event = event_from_json(values)
        except BadInput as problem:
            return EventOutcome(event_id=_claimed_id(values), taken=Taken.REFUSED, message=str(problem))
        strange = {event.step, event.before} - {"", *self.letters}
        if strange:
            message = f"{sorted(strange)[0]} is no step of this procedure; this mark was left out, the others are kept."
            return EventOutcome(event_id=event.event_id, taken=Taken.REFUSED, message=message)
        return event

    def _look_up(self, events: Sequence[ObservationEvent]) -> None:
        ids = [event.event_id for event in events]
        session = self.act.session
        for known in session.scalars(select(EventRow).where(EventRow.id.in_(ids))):
            self.known[known.id] = (known.observation_id, known.body)
        reports = select(FaultReport.id, FaultReport.observation_id).where(FaultReport.id.in_(ids))
        self.reported = {row.id: row.observation_id for row in session.execute(reports)}
        late_ids = [_late_id(event_to_json(event)) for event in events]
        self.known_late = set(session.scalars(select(LateEvent.id).where(LateEvent.id.in_(late_ids))))

    def _take(self, event: ObservationEvent) -> EventOutcome:
        if event.kind is EventKind.FAULT:
            return self._report(event)
        body = event_to_json(event)
        if event.event_id in self.known:
            return self._recognise(event, body)
        if self.row.voided_at is not None:
            return self._keep_apart(event, body, AFTER_THE_DISCARD)
        if self.row.locked_at is not None:
            return self._keep_apart(event, body, AFTER_THE_LOCK)
        self.known[event.event_id] = (self.row.id, body)
        self._save(event)
        return EventOutcome(event_id=event.event_id, taken=Taken.SAVED)

    def _recognise(self, event: ObservationEvent, body: dict[str, Any]) -> EventOutcome:
        sheet_id, first = self.known[event.event_id]
        if sheet_id != self.row.id:
            return _of_another_sheet(event)
        if first == body:
            return EventOutcome(event_id=event.event_id, taken=Taken.KNOWN)
        return self._keep_apart(event, body, OTHER_CONTENTS)

    def _report(self, event: ObservationEvent) -> EventOutcome:
        """A report from the device: kept once, whatever became of the sheet."""
        sheet_id = self.reported.get(event.event_id)
        if sheet_id is not None:
            known = EventOutcome(event_id=event.event_id, taken=Taken.KNOWN)
            return known if sheet_id == self.row.id else _of_another_sheet(event)
        self.reported[event.event_id] = self.row.id
        report_device_fault(
            self.act, observation_id=self.row.id, lot_number=event.lot, step=event.step, what=event.text,
            report_id=event.event_id,
        )  # fmt: skip
        return EventOutcome(event_id=event.event_id, taken=Taken.SAVED)

    def _save(self, event: ObservationEvent) -> None:
        self.saved += 1
        self.act.session.add(event_row(event, self.row.id, received_at=self.act.now))

    def _keep_apart(self, event: ObservationEvent, body: dict[str, Any], reason: str) -> EventOutcome:
        """Under an id made from the contents, so that a repeated delivery is kept once."""
        late_id = _late_id(body)
        if late_id not in self.known_late:
            self.known_late.add(late_id)
            self.late += 1
            self.act.session.add(
                LateEvent(id=late_id, observation_id=self.row.id, body=body, reason=reason, received_at=self.act.now)
            )
        return EventOutcome(
            event_id=event.event_id, taken=Taken.LATE, message=f"This mark {reason}; it was kept apart."
        )


def _of_another_sheet(event: ObservationEvent) -> EventOutcome:
    message = "This mark carries the id of a mark on another sheet; it was left out, the others are kept."
    return EventOutcome(event_id=event.event_id, taken=Taken.REFUSED, message=message)


def _late_id(body: dict[str, Any]) -> str:
    text = json.dumps(body, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _claimed_id(values: object) -> str:
    claimed = values.get("event_id") if isinstance(values, dict) else None
    return claimed[:64] if isinstance(claimed, str) else ""
