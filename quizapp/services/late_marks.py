"""Marks that came too late or with another mark's id: the list of them, and a person's decision on each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import aliased

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.late_mark import LateOutcome
from quizapp.assessment.observation_event_json import event_from_json
from quizapp.assessment.observation_events import ObservationEvent
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.performance_pairs import other_sheets
from quizapp.services.record_observation_events import AFTER_THE_LOCK, event_row
from quizapp.store.observations import LateEvent, Observation
from quizapp.store.people import Person

LONGEST_REASON = 500
NEWEST = 200


@dataclass(frozen=True, kw_only=True)
class LateLine:
    """One late mark: what it says, why it was kept apart, and what was decided if anything was."""

    id: str
    observation_id: str
    title: str
    person_name: str
    event: ObservationEvent
    why_late: str
    received_at: datetime
    may_take_in: bool
    outcome: LateOutcome | None
    outcome_reason: str
    decided_by_name: str
    decided_at: datetime | None


def late_marks(act: Act) -> tuple[LateLine, ...]:
    """Return the newest late marks for the actor's own sheets, those to decide first, with one statement."""
    decider = aliased(Person)
    rows = act.session.execute(
        select(LateEvent, Observation, Person.name, decider.name)
        .join(Observation, Observation.id == LateEvent.observation_id)
        .join(Person, Person.id == Observation.person_id)
        .outerjoin(decider, decider.id == LateEvent.decided_by)
        .where(Observation.assessor_id == act.actor.person_id)
        .order_by(LateEvent.decided_at.is_not(None), LateEvent.received_at.desc(), LateEvent.id)
        .limit(NEWEST)
    )
    return tuple(_line(late, row, person, by) for late, row, person, by in rows)


def decide_late_mark(act: Act, *, late_id: str, outcome: LateOutcome, reason: str) -> str:
    """Decide on a late mark of the actor's own sheet and return the sheet's id.

    Taking it in opens the sheet again: both people look once more, then it is locked anew; that is refused once the
    sheet is signed, and for a mark that came with the id of another. Raises NotFound, Conflict, BadInput ("reason").
    """
    late, row = _own(act, late_id)
    if late.outcome is not None:
        raise Conflict("This mark was decided on already. That decision stands; nothing was changed.")
    words = reason.replace("\x00", "").strip()
    if not words or len(words) > LONGEST_REASON:
        raise BadInput(f"Write why, with at most {LONGEST_REASON} characters; nothing was decided yet.", field="reason")
    if outcome is LateOutcome.TAKEN_IN:
        _take_in(act, late, row)
    late.outcome, late.outcome_reason = outcome.value, words
    late.decided_by, late.decided_at = act.actor.person_id, act.now
    audit_trail.record(
        act, AuditEvent.LATE_MARK_DECIDED, "observation_late_event", late.id, person_id=row.person_id,
        thing=row.procedure, after={"outcome": outcome.value, "observation": row.id},
    )  # fmt: skip
    return row.id


def _take_in(act: Act, late: LateEvent, row: Observation) -> None:
    if not _can_be_taken_in(late, row) or any(one.locked_at for one in other_sheets(act, row)):
        raise Conflict(
            "This mark cannot be taken in any more: the sheet is signed, discarded or compared with another one, "
            "or the mark bears another's id. Nothing was changed. Leave it out, or observe again on a new sheet."
        )
    act.session.add(event_row(event_from_json(late.body), row.id, received_at=late.received_at))
    row.locked_at = row.person_confirmed_at = row.result = row.global_rating = None


def _can_be_taken_in(late: LateEvent, row: Observation) -> bool:
    return late.reason == AFTER_THE_LOCK and row.signature_id is None and row.voided_at is None


def _own(act: Act, late_id: str) -> tuple[LateEvent, Observation]:
    late = act.session.get(LateEvent, late_id, with_for_update=True)
    row = act.session.get(Observation, late.observation_id, with_for_update=True) if late else None
    if late is None or row is None or row.assessor_id != act.actor.person_id:
        raise NotFound("There is no such late mark of yours. Nothing was changed.")
    return late, row


def _line(late: LateEvent, row: Observation, person_name: str, decided_by: str | None) -> LateLine:
    return LateLine(
        id=late.id,
        observation_id=row.id,
        title=f"{row.procedure} {row.frozen['title']}",
        person_name=person_name,
        event=event_from_json(late.body),
        why_late=late.reason,
        received_at=late.received_at,
        may_take_in=_can_be_taken_in(late, row),
        outcome=LateOutcome(late.outcome) if late.outcome else None,
        outcome_reason=late.outcome_reason or "",
        decided_by_name=decided_by or "",
        decided_at=late.decided_at,
    )
