"""A suspension is lifted, a leave or restriction ended before its day, a withdrawal taken back by two people."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Actor, Right, has_right
from quizapp.assessment.person_rules import Denied, may_change_standing
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.assessment.standing_moves import MOVES_BY, StandingAct
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.change_standing import SHORTEST_REASON, change_words
from quizapp.services.second_person import SecondPerson, proven_second
from quizapp.store.decisions import StandingEnd, StandingEvent
from quizapp.store.people import Person

RULES = {
    StandingEventKind.SUSPENDED: (StandingAct.LIFT_SUSPENSION, AuditEvent.SUSPENSION_LIFTED),
    StandingEventKind.WITHDRAWN: (StandingAct.LIFT_WITHDRAWAL, AuditEvent.WITHDRAWAL_LIFTED),
    StandingEventKind.PAUSED: (StandingAct.END_PAUSE, AuditEvent.PAUSE_ENDED),
    StandingEventKind.RESTRICTED: (StandingAct.END_RESTRICTION, AuditEvent.RESTRICTION_ENDED),
}


def needs_second(kind: StandingEventKind) -> bool:
    """Whether ending a change of this kind takes two people."""
    return MOVES_BY[RULES[kind][0]].needs_two


def end_standing_change(act: Act, event_id: str, *, reason: str, second: SecondPerson | None = None) -> str:
    """End a change from this minute on and return the id of the end; what was before stays as it was.

    Raises NotFound, NotAllowed with the reason, Conflict when it is over already, BadInput naming the field.
    """
    row, person = standing_change(act, event_id)
    if len(reason.strip()) < SHORTEST_REASON:
        raise BadInput("Write the reason in a sentence; the person reads it.", field="reason")
    kind = StandingEventKind(row.kind)
    standing_act, event = RULES[kind]
    _check(act, act.actor, person, standing_act)
    second_id = _second(act, row, person, standing_act, second) if needs_second(kind) else None
    end = StandingEnd(
        id=act.randomness.new_id(),
        event_id=row.id,
        person_id=person.id,
        reason=reason.strip(),
        recorded_by=act.actor.person_id,
        second_by=second_id,
        recorded_at=act.now,
    )
    act.session.add(end)
    record(act, event, "standing_event", row.id, person_id=person.id, thing=change_words(row), after={"end": end.id})
    return end.id


def standing_change(act: Act, event_id: str) -> tuple[StandingEvent, Person]:
    """Return a change that can still be ended, and its person.

    Raises NotFound outside the actor's bases, Conflict for one that is over.
    """
    row = act.session.get(StandingEvent, event_id)
    person = act.session.get(Person, row.person_id) if row else None
    if row is None or person is None or not has_right(act.actor, Right.SEE_PERSON, act.today, person.base_id):
        raise NotFound("There is no such change of standing.")
    ended = act.session.scalar(select(StandingEnd.id).where(StandingEnd.event_id == event_id))
    if ended is not None or (row.until_day is not None and row.until_day < act.today):
        raise Conflict("This is over already. Nothing was changed.")
    return row, person


def _check(act: Act, actor: Actor, person: Person, standing_act: StandingAct) -> None:
    verdict = may_change_standing(actor, standing_act, person_id=person.id, base_id=person.base_id, day=act.today)
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was changed.")


def _second(
    act: Act, row: StandingEvent, person: Person, standing_act: StandingAct, second: SecondPerson | None
) -> str:
    """Return the id of the second educator, who proved in this request who they are."""
    actor = proven_second(act, second, object_type="standing_event", object_id=row.id)
    if actor is None:
        raise BadInput("Two educators are needed for this. Nothing was changed.", field="second_name")
    if actor.person_id == act.actor.person_id:
        raise BadInput("The second educator is somebody else than you. Nothing was changed.", field="second_name")
    try:
        _check(act, actor, person, standing_act)
    except NotAllowed as refused:
        raise BadInput(str(refused), field="second_name") from None
    record(
        replace(act, actor=actor), AuditEvent.REAUTHENTICATED, "standing_event", row.id, person_id=person.id,
        thing="as the second person",
    )  # fmt: skip
    return actor.person_id
