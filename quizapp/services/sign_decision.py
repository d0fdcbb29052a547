"""An educator decides on a person's competencies: shown first, then signed; never alone on a "not yet" turned round."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.permissions import Actor
from quizapp.assessment.person_rules import Denied, may_decide, may_turn_to_competent
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import CompetencyReadiness
from quizapp.assessment.standing import Outcome
from quizapp.assessment.validity import add_months
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.decision_desk import Desk, desk
from quizapp.services.decision_statement import (
    COUNTERSIGNS,
    MEANING,
    DecisionWanted,
    as_mapping,
    entries_of,
    needs_second,
    statement_of,
    wanted_from,
)
from quizapp.services.second_person import SecondPerson, proven_second
from quizapp.services.signing import Intent, Meaning, countersign, open_intent, prepare_to_sign, sign
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision

__all__ = ["SecondPerson", "decision_intent", "prepare_decision", "sign_decision"]

RECORD_TYPE = "decision"
SHORTEST_REASON = 10
LONGEST_REASON = 2000
LONGEST_RESTRICTION_MONTHS = 12


def prepare_decision(act: Act, library: Library, person_id: str, wanted: DecisionWanted) -> str:
    """Check a decision and keep exactly what will be shown and signed; return the intent's id.

    Raises NotFound for people the actor may not decide on, NotAllowed with the reason, BadInput naming the field.
    """
    before = desk(act, library, person_id, profile=wanted.profile)
    _check(act, before, wanted)
    statement = statement_of(act, library, before, wanted)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=statement).id


def decision_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_decision(
    act: Act, library: Library, intent_id: str, *, password: str, second: SecondPerson | None = None
) -> list[str]:
    """Sign a prepared decision and store one row a competency; return the ids of the rows.

    Raises Conflict when the evidence changed since it was shown, BadInput for a wrong password, NotAllowed.
    """
    intent = decision_intent(act, intent_id)
    statement = as_mapping(intent.statement)
    wanted = wanted_from(statement)
    before = desk(act, library, str(statement["person_id"]), profile=wanted.profile)
    if canonical_bytes(statement_of(act, library, before, wanted)) != canonical_bytes(statement):
        raise Conflict("The evidence changed since this was shown. Nothing was signed. Look at it again, then decide.")
    second_actor = _second(act, before, wanted, second)
    ids = [act.randomness.new_id() for _entry in entries_of(statement)]
    signatures = _signatures(act, intent, before, wanted, record_id=ids[0], password=password, second=second_actor)
    rows = [
        _row(act, before, wanted, entry, row_id=row_id, signatures=signatures)
        for row_id, entry in zip(ids, entries_of(statement), strict=True)
    ]
    act.session.add_all(rows)
    for row in rows:
        _record(act, row, second_actor)
    return ids


def _signatures(
    act: Act,
    intent: Intent,
    before: Desk,
    wanted: DecisionWanted,
    *,
    record_id: str,
    password: str,
    second: Actor | None,
) -> list[Signature]:
    """Sign, and countersign where two people decide."""
    meaning = Meaning(word="decides", sentence=MEANING[wanted.outcome], role=Role.EDUCATOR, base_id=before.base.id)
    found = [sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=record_id, meaning=meaning)]
    if second is not None:
        with_it = replace(meaning, word="counter-signs", sentence=COUNTERSIGNS)
        found.append(countersign(act, intent, second, record_type=RECORD_TYPE, record_id=record_id, meaning=with_it))
    return found


def _record(act: Act, row: Decision, second: Actor | None) -> None:
    thing = f"{row.competency} {row.outcome}"
    record(
        act, AuditEvent.DECISION_SIGNED, "decision", row.id, person_id=row.person_id, thing=thing,
        after={"outcome": row.outcome, "competency": row.competency, "signature": row.signature_id,
               "last_valid_day": row.last_valid_day.isoformat() if row.last_valid_day else ""},
    )  # fmt: skip
    if second is not None:
        record(replace(act, actor=second), AuditEvent.DECISION_COUNTERSIGNED, "decision", row.id,
               person_id=row.person_id, thing=thing, after={"signature": row.second_signature_id})  # fmt: skip


def _check(act: Act, before: Desk, wanted: DecisionWanted) -> None:
    readiness = {one.competency: one for one in before.readiness}
    if not wanted.competencies:
        raise BadInput("Choose at least one competency to decide on.", field="competencies")
    unknown = [code for code in wanted.competencies if code not in readiness]
    if unknown:
        raise BadInput(f"The standard asks nothing for {', '.join(unknown)}.", field="competencies")
    if not SHORTEST_REASON <= len(wanted.reason.strip()) <= LONGEST_REASON:
        raise BadInput(f"Write a reason of {SHORTEST_REASON} to {LONGEST_REASON} characters; the person reads it.",
                       field="reason")  # fmt: skip
    if wanted.outcome is Outcome.COMPETENT:
        _check_complete([readiness[code] for code in wanted.competencies])
    if wanted.outcome is Outcome.RESTRICTED:
        _check_restriction(act, wanted)
    verdict = may_decide(
        act.actor,
        person_id=before.person.id,
        base_id=before.base.id,
        sole_assessor_ids=_sole_assessors(before, wanted),
        day=act.today,
    )
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was signed.")


def _check_complete(chosen: Sequence[CompetencyReadiness]) -> None:
    incomplete = [one.sentence for one in chosen if not one.may_sign_off]
    if incomplete:
        raise BadInput(" ".join(incomplete), field="competencies")


def _check_restriction(act: Act, wanted: DecisionWanted) -> None:
    if len(wanted.conditions.strip()) < SHORTEST_REASON:
        raise BadInput("Say under which conditions, for example: works with a current colleague.", field="conditions")
    latest = add_months(act.today, LONGEST_RESTRICTION_MONTHS)
    if wanted.restricted_until is None or not act.today <= wanted.restricted_until <= latest:
        raise BadInput(f"A restriction ends between today and {latest.isoformat()}.", field="restricted_until")


def _sole_assessors(before: Desk, wanted: DecisionWanted) -> frozenset[str]:
    if wanted.outcome is not Outcome.COMPETENT:
        return frozenset()
    return frozenset(
        one.sole_assessor_id
        for one in before.readiness
        if one.competency in wanted.competencies and one.sole_assessor_id is not None
    )


def _second(act: Act, before: Desk, wanted: DecisionWanted, second: SecondPerson | None) -> Actor | None:
    if not needs_second(before, wanted):
        return None
    actor = proven_second(act, second, object_type=RECORD_TYPE, object_id=before.person.id)
    verdict = may_turn_to_competent(
        act.actor,
        actor,
        person_id=before.person.id,
        base_id=before.base.id,
        sole_assessor_ids=_sole_assessors(before, wanted),
        day=act.today,
    )
    if isinstance(verdict, Denied):
        raise BadInput(f"{verdict.reason} Nothing was signed.", field="second_name")
    return actor


def _row(
    act: Act,
    before: Desk,
    wanted: DecisionWanted,
    entry: dict[str, JsonValue],
    *,
    row_id: str,
    signatures: Sequence[Signature],
) -> Decision:
    last_day = str(entry["last_valid_day"])
    evidence = entry["evidence"]
    profile = before.profile
    first, *others = signatures
    return Decision(
        id=row_id,
        person_id=before.person.id,
        base_id=before.base.id,
        competency=str(entry["code"]),
        outcome=wanted.outcome.value,
        origin=DecisionOrigin.DECIDED_HERE.value,
        reason=wanted.reason.strip(),
        conditions=wanted.conditions.strip() or None,
        valid_from=act.today,
        last_valid_day=date.fromisoformat(last_day) if last_day else None,
        profile_code=profile.code if profile else "",
        profile_revision=profile.revision if profile else 0,
        standard_id=before.standard.id if before.standard else None,
        evidence_ids=[item["id"] for item in evidence if isinstance(item, dict)] if isinstance(evidence, list) else [],
        decided_by=act.actor.person_id,
        second_by=others[0].person_id if others else None,
        decided_at=act.now,
        signature_id=first.id,
        second_signature_id=others[0].id if others else None,
        replaces_id=None,
        voided_at=None,
    )
