"""Two educators void a decision: one proposes and signs, a second one confirms and signs, or declines.

A void concerns the decision with all its versions. Until it is confirmed the decision stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.audit_chain import JsonValue
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Allowed, Denied, may_void
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.decision_statement import as_mapping
from quizapp.services.decision_versions import Versions, refuse_open_proposal, standing_version
from quizapp.services.require_right import require_right
from quizapp.services.sign_in import actor_of
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.store.decisions import DecisionVoid
from quizapp.store.people import Person

RECORD_TYPE = "decision_void"
PROPOSES = "I propose to void this decision. It stands until a second educator confirms."
CONFIRMS = "I have looked at this decision and void it, as the second of two educators."
DECLINES = "I have looked at this decision and decline to void it. It stands."
SHORTEST_REASON = 10
LONGEST_REASON = 2000


@dataclass(frozen=True, kw_only=True)
class WaitingVoid:
    """A void that was proposed and waits for a second educator."""

    id: str
    decision_id: str
    person: str
    competency: str
    outcome: str
    reason: str
    proposed_by: str
    proposed_at: datetime
    is_mine: bool


def voids_waiting(act: Act) -> list[WaitingVoid]:
    """Return the proposals about people at the actor's bases, the oldest first; never one about the actor."""
    require_right(act, Right.VOID_DECISION)
    rows = act.session.scalars(
        select(DecisionVoid).where(DecisionVoid.settled_at.is_(None)).order_by(DecisionVoid.proposed_at)
    )
    found = []
    for row in rows:
        person = act.session.get_one(Person, row.person_id)
        reaches = has_right(act.actor, Right.VOID_DECISION, act.today, person.base_id)
        if reaches and person.id != act.actor.person_id:
            found.append(_waiting(act, row, person))
    return found


def _waiting(act: Act, row: DecisionVoid, person: Person) -> WaitingVoid:
    decided = standing_version(act, row.decision_id, right=Right.VOID_DECISION).newest
    return WaitingVoid(
        id=row.id,
        decision_id=row.decision_id,
        person=person.name,
        competency=decided.competency,
        outcome=decided.outcome.replace("_", " "),
        reason=row.reason,
        proposed_by=act.session.get_one(Person, row.proposed_by).name,
        proposed_at=row.proposed_at,
        is_mine=row.proposed_by == act.actor.person_id,
    )


def prepare_void(act: Act, decision_id: str, *, reason: str) -> str:
    """Check a proposal and keep exactly what will be shown and signed; return the intent's id."""
    found = standing_version(act, decision_id, right=Right.VOID_DECISION)
    _check_reason(reason)
    refuse_open_proposal(act, decision_id)
    statement = _statement(act, found, reason=reason, meaning=PROPOSES, confirms="")
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=statement).id


def _check_reason(reason: str) -> None:
    if not SHORTEST_REASON <= len(reason.strip()) <= LONGEST_REASON:
        message = f"Write a reason of {SHORTEST_REASON} to {LONGEST_REASON} characters; the person reads it."
        raise BadInput(message, field="reason")


def _statement(act: Act, found: Versions, *, reason: str, meaning: str, confirms: str) -> dict[str, JsonValue]:
    row = found.newest
    return {
        "decision": row.id,
        "proposal": confirms,
        "person_id": found.person.id,
        "person": f"{found.person.name}, {found.person.staff_number}",
        "competency": row.competency,
        "device": f"{row.profile_code} revision {row.profile_revision}",
        "outcome": row.outcome,
        "last_valid_day": row.last_valid_day.isoformat() if row.last_valid_day else "",
        "decided_on": row.decided_at.astimezone(act.zone).date().isoformat(),
        "decided_by": act.session.get_one(Person, row.decided_by).name,
        "reason": reason.strip(),
        "meaning": meaning,
    }


def void_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_void(act: Act, intent_id: str, *, password: str) -> str:
    """Sign a prepared proposal, confirmation or refusal; return the proposal's id.

    Raises Conflict when the decision or the proposal changed since it was shown, BadInput for a wrong password.
    """
    intent = void_intent(act, intent_id)
    statement = as_mapping(intent.statement)
    found = standing_version(act, str(statement["decision"]), right=Right.VOID_DECISION)
    if statement["proposal"]:
        return _settle(act, intent, statement, found, password=password)
    refuse_open_proposal(act, found.newest.id)
    row_id = act.randomness.new_id()
    meaning = Meaning(word="proposes to void", sentence=PROPOSES, role=Role.EDUCATOR, base_id=found.person.base_id)
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=row_id, meaning=meaning)
    act.session.add(
        DecisionVoid(
            id=row_id,
            decision_id=found.newest.id,
            person_id=found.person.id,
            reason=str(statement["reason"]),
            proposed_by=act.actor.person_id,
            proposed_at=act.now,
            signature_id=signature.id,
            settled_by=None,
            settled_at=None,
            is_confirmed=None,
            settled_reason=None,
            second_signature_id=None,
        )
    )
    record(act, AuditEvent.VOID_PROPOSED, "decision_void", row_id, person_id=found.person.id,
           thing=found.newest.competency, after={"decision": found.newest.id, "signature": signature.id})  # fmt: skip
    return row_id


def proposed_void(act: Act, void_id: str) -> WaitingVoid:
    """Return one waiting proposal; raises NotFound outside the actor's bases, Conflict once it was settled."""
    row = _proposal(act, void_id)
    found = standing_version(act, row.decision_id, right=Right.VOID_DECISION)
    return _waiting(act, row, found.person)


def _proposal(act: Act, void_id: str) -> DecisionVoid:
    row = act.session.scalar(select(DecisionVoid).where(DecisionVoid.id == void_id).with_for_update())
    if row is None:
        raise NotFound("There is no such proposal.")
    if row.settled_at is not None:
        raise Conflict("This proposal was settled already. Nothing was changed.")
    return row


def prepare_settling(act: Act, void_id: str, *, confirm: bool, reason: str) -> str:
    """Check the second educator's answer and keep exactly what will be shown and signed; return the intent's id."""
    row = _proposal(act, void_id)
    found = standing_version(act, row.decision_id, right=Right.VOID_DECISION)
    _check_reason(reason)
    _check_two(act, row, found, confirm=confirm)
    meaning = CONFIRMS if confirm else DECLINES
    statement = _statement(act, found, reason=reason, meaning=meaning, confirms=void_id)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=statement).id


def _check_two(act: Act, row: DecisionVoid, found: Versions, *, confirm: bool) -> None:
    first = actor_of(act.session, row.proposed_by)
    verdict = may_void(first, act.actor, person_id=found.person.id, base_id=found.person.base_id, day=act.today)
    if not confirm and first.person_id != act.actor.person_id:
        verdict = Allowed()  # a proposal of somebody who is no educator any more can still be declined
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was signed.")


def _settle(act: Act, intent: Intent, statement: dict[str, JsonValue], found: Versions, *, password: str) -> str:
    row = _proposal(act, str(statement["proposal"]))
    confirm = statement["meaning"] == CONFIRMS
    _check_two(act, row, found, confirm=confirm)
    word = "voids" if confirm else "declines to void"
    meaning = Meaning(
        word=word, sentence=str(statement["meaning"]), role=Role.EDUCATOR, base_id=found.person.base_id
    )  # fmt: skip
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=row.id, meaning=meaning)
    row.settled_by, row.settled_at, row.is_confirmed = act.actor.person_id, act.now, confirm
    row.settled_reason, row.second_signature_id = str(statement["reason"]), signature.id
    if confirm:
        for version in found.rows:
            version.voided_at = act.now
    event = AuditEvent.DECISION_VOIDED if confirm else AuditEvent.VOID_DECLINED
    record(act, event, "decision", found.newest.id, person_id=found.person.id, thing=found.newest.competency,
           after={"void": row.id, "signature": signature.id})  # fmt: skip
    return row.id
