"""A person's standing is changed besides decisions: suspended, withdrawn, paused for leave, or restricted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Denied, may_change_standing
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.assessment.standing_moves import StandingAct
from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.store.decisions import StandingEvent
from quizapp.store.people import Person

SHORTEST_REASON = 10
OF_ONE_COMPETENCY = {StandingEventKind.SUSPENDED, StandingEventKind.WITHDRAWN}
RULES = {
    StandingEventKind.SUSPENDED: (StandingAct.SUSPEND, AuditEvent.PERSON_SUSPENDED),
    StandingEventKind.WITHDRAWN: (StandingAct.WITHDRAW, AuditEvent.PERSON_WITHDRAWN),
    StandingEventKind.PAUSED: (StandingAct.PAUSE, AuditEvent.PERSON_PAUSED),
    StandingEventKind.RESTRICTED: (StandingAct.RESTRICT, AuditEvent.PERSON_RESTRICTED),
}


@dataclass(frozen=True, kw_only=True)
class StandingChange:
    """What is recorded: first and last day (inclusive, None: open), and the reason or the conditions.

    A suspension or withdrawal may concern one competency only; None is the whole person.
    """

    kind: StandingEventKind
    from_day: date
    until_day: date | None
    reason: str
    competency: str | None = None


def change_standing(act: Act, person_id: str, change: StandingChange) -> str:
    """Record a change from today or a later day on and return its id.

    Raises NotFound, NotAllowed with the reason, BadInput naming the field. A restriction always has an end.
    """
    person = act.session.get(Person, person_id)
    if person is None or not _is_known(act, person):
        raise NotFound("There is no such person.")
    if len(change.reason.strip()) < SHORTEST_REASON:
        raise BadInput("Write the reason in a sentence; the person reads it.", field="reason")
    if change.competency is not None and change.kind not in OF_ONE_COMPETENCY:
        raise BadInput("Only a suspension or a withdrawal can concern one competency.", field="competency")
    if change.from_day < act.today or (change.until_day is not None and change.until_day < change.from_day):
        raise BadInput("It starts today or later, and ends on or after its first day.", field="from_day")
    if change.kind is StandingEventKind.RESTRICTED and change.until_day is None:
        raise BadInput("A restriction has a last day.", field="until_day")
    standing_act, event = RULES[change.kind]
    verdict = may_change_standing(act.actor, standing_act, person_id=person_id, base_id=person.base_id, day=act.today)
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was changed.")
    row = StandingEvent(
        id=act.randomness.new_id(),
        person_id=person_id,
        kind=change.kind.value,
        competency=change.competency,
        from_day=change.from_day,
        until_day=change.until_day,
        reason=change.reason.strip(),
        recorded_by=act.actor.person_id,
        recorded_at=act.now,
    )
    act.session.add(row)
    record(
        act, event, "standing_event", row.id, person_id=person_id, thing=change_words(row),
        after={"from": change.from_day.isoformat(), "until": change.until_day.isoformat() if change.until_day else ""},
    )  # fmt: skip
    return row.id


def change_words(row: StandingEvent) -> str:
    """Say a change in a few words without personal data: "suspended in C8"."""
    return row.kind if row.competency is None else f"{row.kind} in {row.competency}"


def _is_known(act: Act, person: Person) -> bool:
    """Whether the actor has a part in this person's record at all, so that a refusal may say why."""
    return person.id == act.actor.person_id or has_right(act.actor, Right.SEE_PERSON, act.today, person.base_id)
