"""One tap sent as a plain form: the same event as a device would make, with an id that a repeated post repeats."""

from __future__ import annotations

import hashlib

from sqlalchemy import func, select

from quizapp.assessment.observation_event_json import event_to_json
from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.assessment.observation_state import StepMark
from quizapp.errors import BadInput, Conflict
from quizapp.services.act import Act
from quizapp.services.observation_sheet import own_row
from quizapp.services.record_observation_events import Taken, record_observation_events
from quizapp.store.observations import ObservationEvent as EventRow

FORM_DEVICE = "0-plain-form"
"""Sorts before every device's own name, since a page without scripts carries no running number of its own."""


def record_tap(
    act: Act,
    *,
    observation_id: str,
    key: str,
    kind: EventKind,
    step: str = "",
    mark: StepMark | None = None,
    undoes: str = "",
    before: str = "",
    text: str = "",
) -> None:
    """Store one tap, timed by the service's clock; the same `key` with the same tap is stored once.

    `key` is the form's act key. Raises NotFound for another assessor's sheet, BadInput for a tap that cannot be
    read, Conflict when the sheet is locked.
    """
    row = own_row(act, observation_id, for_change=True)
    if row.voided_at is not None:
        raise Conflict("This sheet was discarded. The mark was not stored. Open a new sheet to observe again.")
    if row.locked_at is not None:
        raise Conflict("This sheet is locked. The mark was not stored, and what was locked stands.")
    said = "\x00".join([observation_id, key, kind, step, mark or "", undoes, before, text])
    event_id = hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:32]
    if act.session.get(EventRow, event_id) is not None:
        return
    event = ObservationEvent(
        event_id=event_id,
        device_id=FORM_DEVICE,
        sequence=_next_sequence(act, observation_id),
        device_time=act.now,
        kind=kind,
        step=step,
        mark=mark,
        undoes=undoes,
        before=before,
        text=text,
    )
    (outcome,) = record_observation_events(act, observation_id=observation_id, sent=[event_to_json(event)])
    if outcome.taken is Taken.REFUSED:
        raise BadInput(outcome.message)


def _next_sequence(act: Act, observation_id: str) -> int:
    """The moment in milliseconds, like a device's own numbers, and always after every tap of the sheet so far."""
    newest = act.session.scalar(
        select(func.max(EventRow.device_sequence)).where(EventRow.observation_id == observation_id)
    )
    return max(int(act.now.timestamp() * 1000), (newest or 0) + 1)
