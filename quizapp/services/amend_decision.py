"""An educator amends a decision: a new version with its own signature; the one before stays readable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from quizapp.assessment.amending import Decided, amendment_fault
from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_rules import Denied, may_decide
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import EvidenceKind
from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.decision_statement import as_mapping
from quizapp.services.decision_versions import Versions, refuse_open_proposal, standing_version
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence

RECORD_TYPE = "amendment"
MEANING = "I amend this decision. What is said here stands from now on in place of what was signed before."
SHORTEST_REASON = 10
LONGEST_REASON = 2000


@dataclass(frozen=True, kw_only=True)
class AmendmentWanted:
    """What the decision shall say from now on, and why it is amended."""

    outcome: Outcome
    last_valid_day: date | None
    conditions: str
    reason: str
    why: str


def as_decided(row: Decision) -> Decided:
    """Return what a stored version says."""
    return Decided(
        outcome=Outcome(row.outcome),
        valid_from=row.valid_from,
        last_valid_day=row.last_valid_day,
        conditions=row.conditions or "",
        reason=row.reason,
    )


def prepare_amendment(act: Act, library: Library, decision_id: str, wanted: AmendmentWanted) -> str:
    """Check an amendment and keep exactly what will be shown and signed; return the intent's id.

    Raises NotFound, NotAllowed with the reason, Conflict for a void or older version, BadInput naming the field.
    """
    found = standing_version(act, decision_id, right=Right.DECIDE)
    _check(act, found, wanted)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=_statement(act, library, found, wanted)).id


def _check(act: Act, found: Versions, wanted: AmendmentWanted) -> None:
    refuse_open_proposal(act, found.newest.id)
    for field in ("reason", "why"):
        if not SHORTEST_REASON <= len(getattr(wanted, field).strip()) <= LONGEST_REASON:
            message = f"Write {SHORTEST_REASON} to {LONGEST_REASON} characters; the person reads it."
            raise BadInput(message, field=field)
    before = as_decided(found.newest)
    after = Decided(
        outcome=wanted.outcome,
        valid_from=before.valid_from,
        last_valid_day=_last_day(wanted),
        conditions=_conditions(wanted),
        reason=wanted.reason,
    )
    fault = amendment_fault(before, after)
    if fault is not None:
        raise BadInput(fault.message, field=fault.field)
    verdict = may_decide(
        act.actor,
        person_id=found.person.id,
        base_id=found.person.base_id,
        sole_assessor_ids=_sole_assessor(act, found.newest) if wanted.outcome is Outcome.COMPETENT else frozenset(),
        day=act.today,
    )
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was signed.")


def _last_day(wanted: AmendmentWanted) -> date | None:
    return None if wanted.outcome is Outcome.NOT_YET else wanted.last_valid_day


def _conditions(wanted: AmendmentWanted) -> str:
    return wanted.conditions if wanted.outcome is Outcome.RESTRICTED else ""


def _sole_assessor(act: Act, row: Decision) -> frozenset[str]:
    """Return the one person whose observations alone carried the decision, nobody where there were several."""
    watched = select(Evidence.assessor_id).where(
        Evidence.id.in_(row.evidence_ids), Evidence.kind == EvidenceKind.OBSERVATION.value
    )
    people = frozenset(one for one in act.session.scalars(watched) if one)
    return people if len(people) == 1 else frozenset()


def _statement(act: Act, library: Library, found: Versions, wanted: AmendmentWanted) -> dict[str, JsonValue]:
    row = found.newest
    title = library.competencies[row.competency].title if row.competency in library.competencies else ""
    return {
        "amends": row.id,
        "version": len(found.rows) + 1,
        "person_id": found.person.id,
        "person": f"{found.person.name}, {found.person.staff_number}",
        "competency": row.competency,
        "title": title,
        "device": f"{row.profile_code} revision {row.profile_revision}",
        "decided_on": act.today.isoformat(),
        "outcome": wanted.outcome.value,
        "last_valid_day": _text(_last_day(wanted)),
        "conditions": _conditions(wanted).strip(),
        "reason": wanted.reason.strip(),
        "why": wanted.why.strip(),
        "before": {
            "outcome": row.outcome,
            "last_valid_day": _text(row.last_valid_day),
            "conditions": row.conditions or "",
            "reason": row.reason,
        },
        "meaning": MEANING,
    }


def _text(day: date | None) -> str:
    return day.isoformat() if day else ""


def amendment_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_amendment(act: Act, library: Library, intent_id: str, *, password: str) -> str:
    """Sign a prepared amendment, store the new version and return its id.

    Raises Conflict when the decision changed since it was shown, BadInput for a wrong password, NotAllowed.
    """
    intent = amendment_intent(act, intent_id)
    statement = as_mapping(intent.statement)
    wanted = _wanted_from(statement)
    found = standing_version(act, str(statement["amends"]), right=Right.DECIDE)
    _check(act, found, wanted)
    if canonical_bytes(_statement(act, library, found, wanted)) != canonical_bytes(statement):
        raise Conflict("The decision changed since this was shown. Nothing was signed. Look at it again.")
    row_id = act.randomness.new_id()
    meaning = Meaning(word="amends", sentence=MEANING, role=Role.EDUCATOR, base_id=found.person.base_id)
    signature = sign(act, intent, password=password, record_type="decision", record_id=row_id, meaning=meaning)
    row = _version(act, found.newest, wanted, row_id=row_id, signature_id=signature.id)
    act.session.add(row)
    record(
        act, AuditEvent.DECISION_AMENDED, "decision", row.id, person_id=row.person_id,
        thing=f"{row.competency} {row.outcome}",
        before={"decision": found.newest.id},
        after={"outcome": row.outcome, "replaces": found.newest.id, "signature": signature.id,
               "last_valid_day": _text(row.last_valid_day)},
    )  # fmt: skip
    return row.id


def _wanted_from(statement: dict[str, JsonValue]) -> AmendmentWanted:
    last_day = str(statement["last_valid_day"])
    return AmendmentWanted(
        outcome=Outcome(str(statement["outcome"])),
        last_valid_day=date.fromisoformat(last_day) if last_day else None,
        conditions=str(statement["conditions"]),
        reason=str(statement["reason"]),
        why=str(statement["why"]),
    )


def _version(act: Act, before: Decision, wanted: AmendmentWanted, *, row_id: str, signature_id: str) -> Decision:
    return Decision(
        id=row_id,
        person_id=before.person_id,
        base_id=before.base_id,
        competency=before.competency,
        outcome=wanted.outcome.value,
        origin=before.origin,
        reason=wanted.reason.strip(),
        conditions=_conditions(wanted).strip() or None,
        valid_from=act.today if wanted.outcome is Outcome.NOT_YET else before.valid_from,
        last_valid_day=_last_day(wanted),
        profile_code=before.profile_code,
        profile_revision=before.profile_revision,
        standard_id=before.standard_id,
        evidence_ids=list(before.evidence_ids),
        decided_by=act.actor.person_id,
        second_by=None,
        decided_at=act.now,
        signature_id=signature_id,
        second_signature_id=None,
        replaces_id=before.id,
        voided_at=None,
    )
