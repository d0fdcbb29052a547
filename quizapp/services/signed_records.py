"""Compares the records that a signature stands on with what was shown when it was given, field by field."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from quizapp.assessment.discussions import DiscussionMark
from quizapp.assessment.standard_json import terms_to_json
from quizapp.services.raise_challenge import shown_hash
from quizapp.services.standards import standards_recorded
from quizapp.store.audit import Signature
from quizapp.store.challenges import Challenge, ChallengeAnswer, CorrectedObservation, RemarkedSitting
from quizapp.store.decisions import Decision, DecisionVoid
from quizapp.store.discussions import Discussion
from quizapp.store.model import Record
from quizapp.store.standards import Standard, StandardRequirement

Statement = Mapping[str, Any]
Compared = tuple[list[Record], list[str]]


def compared_records(session: Session, signature: Signature, statement: Statement) -> Compared | None:
    """Return the records signed and what differs in them from what was shown; None for a kind not compared here."""
    kind = "amendment" if "amends" in statement else signature.record_type
    compare = COMPARED_BY.get(kind)
    return None if compare is None else compare(session, signature, statement)


def _signed_decisions(session: Session, signature: Signature) -> list[Decision]:
    named = or_(Decision.signature_id == signature.id, Decision.second_signature_id == signature.id)
    return list(session.scalars(select(Decision).where(named).order_by(Decision.id)))


def _decision(session: Session, signature: Signature, statement: Statement) -> Compared:
    rows = _signed_decisions(session, signature)
    entries = {entry["code"]: entry for entry in statement["competencies"]}
    said = [*_missing(entries, (row.competency for row in rows))]
    for row in rows:
        entry = entries.get(row.competency)
        if entry is not None:
            said += _differing(row.competency, {**_of_decision(statement), **_of_entry(entry)}, _as_stored(row))
    return list(rows), said


def _missing(expected: Mapping[str, Any], found: Iterator[str]) -> Iterator[str]:
    codes = list(found)
    for code in sorted(set(expected) - set(codes)):
        yield f"{code}: the record is gone"
    for code in sorted(set(codes) - set(expected)):
        yield f"{code}: this record was not among what was shown"


def _of_decision(statement: Statement) -> dict[str, Any]:
    return {
        "person": statement["person_id"],
        "outcome": statement["outcome"],
        "reason": statement["reason"],
        "conditions": statement["conditions"],
        "device": statement["device"],
    }


def _of_entry(entry: Statement) -> dict[str, Any]:
    return {"last valid day": entry["last_valid_day"], "evidence": [item["id"] for item in entry["evidence"]]}


def _as_stored(row: Decision) -> dict[str, Any]:
    return {
        "person": row.person_id,
        "outcome": row.outcome,
        "reason": row.reason,
        "conditions": row.conditions or "",
        "device": f"{row.profile_code} revision {row.profile_revision}",
        "last valid day": _day(row.last_valid_day),
        "evidence": list(row.evidence_ids),
    }


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""


def _differing(about: str, shown: Mapping[str, Any], stored: Mapping[str, Any]) -> list[str]:
    names = [name for name, value in shown.items() if stored[name] != value]
    return [f"{about}: the {name} {_is(name)} not what was shown" for name in names]


def _is(name: str) -> str:
    return "are" if name in {"conditions", "requirements", "critical errors", "own words"} else "is"


def _amendment(session: Session, signature: Signature, statement: Statement) -> Compared:
    row = session.get(Decision, signature.record_id)
    if row is None:
        return [], [f"{statement['competency']}: the record is gone"]
    shown = {**_of_decision(statement), "last valid day": statement["last_valid_day"], "amends": statement["amends"]}
    return [row], _differing(row.competency, shown, {**_as_stored(row), "amends": row.replaces_id})


def _void(session: Session, signature: Signature, statement: Statement) -> Compared:
    row = session.get(DecisionVoid, signature.record_id)
    if row is None:
        return [], ["the record is gone"]
    is_first = row.signature_id == signature.id
    shown = {"decision": statement["decision"], "person": statement["person_id"], "reason": statement["reason"]}
    stored = {
        "decision": row.decision_id,
        "person": row.person_id,
        "reason": row.reason if is_first else row.settled_reason,
    }
    return [row], _differing("the void", shown, stored)


def _standard(session: Session, signature: Signature, statement: Statement) -> Compared:
    found = next((one for one in standards_recorded(session) if one.id == signature.record_id), None)
    if found is None:
        return [], ["the standard is gone"]
    shown, stored = dict(statement["terms"]), terms_to_json(found)
    for terms in (shown, stored):
        terms["requirements"] = {one["competency"]: _without_default(one) for one in terms["requirements"]}
    asked = select(StandardRequirement).where(StandardRequirement.standard_id == found.id)
    records = [session.get_one(Standard, found.id), *session.scalars(asked.order_by(StandardRequirement.id))]
    return records, _differing("the standard", shown, stored)


def _without_default(requirement: Mapping[str, Any]) -> dict[str, Any]:
    """Write out how old evidence may be where it was left to follow the validity."""
    months = requirement["evidence_months"] or requirement["validity_months"]
    return {**requirement, "evidence_months": months}


def _recognised(session: Session, signature: Signature, statement: Statement) -> Compared:
    rows = _signed_decisions(session, signature)
    if not rows:
        return [], []  # the second person has not signed yet, or left the list
    entries = {f"{one['person_id']} {one['competency']} {one['device']}": one for one in statement["sign_offs"]}
    keys = [f"{row.person_id} {row.competency} {row.profile_code} revision {row.profile_revision}" for row in rows]
    said = [*_missing(entries, iter(keys))]
    for key, row in zip(keys, rows, strict=True):
        shown = entries.get(key)
        if shown is not None:
            expected = {name: shown[name] for name in ("signed_on", "last_valid_day", "reason")}
            stored = {
                "signed_on": _day(row.valid_from), "last_valid_day": _day(row.last_valid_day), "reason": row.reason
            }  # fmt: skip
            said += _differing(row.competency, expected, stored)
    return list(rows), said


def _discussion(session: Session, signature: Signature, statement: Statement) -> Compared:
    row = session.get(Discussion, signature.record_id)
    if row is None:
        return [], ["the discussion is gone"]
    shown = {
        "person": statement["person"]["id"],
        "critical errors": statement["critical_errors"],
        "own words": statement["person_words"],
        **{f"answer to {one['letter']}": [one["said"], one["mark"]] for one in statement["questions"]},
    }
    stored = {"person": row.person_id, "critical errors": row.critical_errors, "own words": row.person_words or ""}
    for name in shown.keys() - stored.keys():
        kept = row.answers.get(name.removeprefix("answer to "), {"words": "", "mark": None})
        mark = "not asked" if kept["mark"] is None else DiscussionMark(kept["mark"]).words
        stored[name] = [kept["words"], mark]
    return [row], _differing("the discussion", shown, stored)


def _challenge_answer(session: Session, signature: Signature, statement: Statement) -> Compared:
    row = session.get(ChallengeAnswer, signature.record_id)
    if row is None:
        return [], ["the answer is gone"]
    shown = {name: statement[name] for name in ("challenge", "outcome", "reason", "correction", "mark")}
    stored = {
        "challenge": row.challenge_id,
        "outcome": row.outcome,
        "reason": row.reason,
        "correction": row.correction["key"],
        "mark": row.correction["mark"],
    }
    challenge = session.get_one(Challenge, row.challenge_id)
    versions = select(CorrectedObservation).where(CorrectedObservation.challenge_answer_id == row.id)
    sittings = select(RemarkedSitting).where(RemarkedSitting.challenge_answer_id == row.id)
    records: list[Record] = [row, challenge, *session.scalars(versions), *session.scalars(sittings)]
    said = _differing("the answer", shown, stored)
    if shown_hash(challenge.shown) != statement["shown_sha256"]:
        said.append("the challenge: what was shown to the person was changed")
    return records, said


COMPARED_BY: Mapping[str, Callable[[Session, Signature, Statement], Compared]] = {
    "decision": _decision,
    "amendment": _amendment,
    "decision_void": _void,
    "standard": _standard,
    "recognised_sign_offs": _recognised,
    "discussion": _discussion,
    "challenge_answer": _challenge_answer,
}
