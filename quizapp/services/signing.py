"""Show, then sign: the exact bytes that were shown are kept, hashed and signed with the password in one request.

An intent holds what is about to be signed for five minutes and can be used once.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes, parse_canonical, signature_hash
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Actor
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import append
from quizapp.services.sign_in import proves_it_is_them
from quizapp.store.audit import Signature
from quizapp.store.decisions import SigningIntent
from quizapp.store.people import Person

INTENT_LASTS = timedelta(minutes=5)


@dataclass(frozen=True, kw_only=True)
class Intent:
    """What somebody is about to sign: an id, the statement as shown, and its hash."""

    id: str
    statement: JsonValue
    shown_hash: str
    ends_in_s: int


@dataclass(frozen=True, kw_only=True)
class Meaning:
    """What a signature means, in one word and in the sentence shown above the password, and as what one signs."""

    word: str
    sentence: str
    role: Role
    base_id: str


def prepare_to_sign(act: Act, *, record_type: str, statement: JsonValue) -> Intent:
    """Keep the exact bytes that will be shown; the statement may hold text, whole numbers, booleans and lists."""
    shown = canonical_bytes(statement)
    row = SigningIntent(
        id=act.randomness.new_id(),
        person_id=act.actor.person_id,
        record_type=record_type,
        shown=shown.decode("utf-8"),
        shown_hash=hashlib.sha256(shown).hexdigest(),
        created_at=act.now,
        ends_at=act.now + INTENT_LASTS,
        used_at=None,
        signature_id=None,
    )
    act.session.add(row)
    act.session.flush()
    return Intent(
        id=row.id,
        statement=statement,
        shown_hash=row.shown_hash,
        ends_in_s=int(INTENT_LASTS.total_seconds()),
    )


def open_intent(act: Act, intent_id: str, *, record_type: str) -> Intent:
    """Return one's own intent that is neither used nor out of time.

    Raises NotFound for another person's, Conflict for one that ran out or was used.
    """
    row = act.session.get(SigningIntent, intent_id)
    if row is None or row.person_id != act.actor.person_id or row.record_type != record_type:
        raise NotFound("There is nothing here for you to sign.")
    if row.used_at is not None:
        raise Conflict("This was signed already. Nothing was signed twice; the signature stands on the record.")
    if row.ends_at <= act.now:
        raise Conflict("What you were shown is older than five minutes, so nothing was signed. Open it once more.")
    return Intent(
        id=row.id,
        statement=parse_canonical(row.shown.encode("utf-8")),
        shown_hash=row.shown_hash,
        ends_in_s=int((row.ends_at - act.now).total_seconds()),
    )


def sign(act: Act, intent: Intent, *, password: str, record_type: str, record_id: str, meaning: Meaning) -> Signature:
    """Sign what the intent shows with the actor's own password; raise BadInput when the password is wrong.

    Call it before any other change of the act: the refusal is kept in the audit trail, so the edge commits it.
    """
    if not proves_it_is_them(act, password):
        append(
            act.session, act.now, actor_id=act.actor.person_id, event=AuditEvent.REFUSED,
            object_type=record_type, object_id=record_id, details={"thing": "signature, wrong password"},
        )  # fmt: skip
        raise BadInput("That is not your password. Nothing was signed and nothing was lost. Try again.",
                       field="password")  # fmt: skip
    row = _row(act, intent, record_type=record_type, record_id=record_id, meaning=meaning)
    act.session.add(row)
    intent_row = act.session.get_one(SigningIntent, intent.id)
    intent_row.used_at, intent_row.signature_id = act.now, row.id
    act.session.flush()
    return row


def countersign(
    act: Act, intent: Intent, second: Actor, *, record_type: str, record_id: str, meaning: Meaning
) -> Signature:
    """Sign the same bytes as a second person, who proved who they are in this request (`proven_second`)."""
    row = _row(replace(act, actor=second), intent, record_type=record_type, record_id=record_id, meaning=meaning)
    act.session.add(row)
    act.session.flush()
    return row


def _row(act: Act, intent: Intent, *, record_type: str, record_id: str, meaning: Meaning) -> Signature:
    person = act.session.get_one(Person, act.actor.person_id)
    local = act.now.astimezone(act.zone)
    row = Signature(
        id=act.randomness.new_id(),
        record_type=record_type,
        record_id=record_id,
        record_hash=intent.shown_hash,
        shown=canonical_bytes(intent.statement),
        meaning=meaning.word,
        meaning_text=meaning.sentence,
        person_id=person.id,
        printed_name=person.name,
        staff_number=person.staff_number,
        role=meaning.role.value,
        base_id=meaning.base_id,
        signed_at=act.now,
        zone=act.zone.key,
        local_time=local.isoformat(timespec="seconds"),
        how="password in the signing request",
        signature_hash="",
    )
    row.signature_hash = signature_hash(signed_fields(row)).hex()
    return row


SIGNED_FIELDS = (
    "id", "record_type", "record_id", "record_hash", "meaning", "meaning_text", "person_id", "printed_name",
    "staff_number", "role", "base_id", "zone", "local_time", "how",
)  # fmt: skip


def signed_fields(row: Signature) -> dict[str, JsonValue]:
    """Return the fields of a signature that its hash covers."""
    return {name: getattr(row, name) for name in SIGNED_FIELDS}


def faults_of_signature(row: Signature) -> list[str]:
    """Return what does not fit in a signature: the shown bytes against their hash, the fields against theirs."""
    faults = []
    if hashlib.sha256(row.shown).hexdigest() != row.record_hash:
        faults.append("what was shown was changed after signing")
    if signature_hash(signed_fields(row)).hex() != row.signature_hash:
        faults.append("the signature's own fields were changed")
    if row.signed_at.astimezone(UTC).replace(microsecond=0).isoformat() != _in_utc(row.local_time):
        faults.append("the time of signing was changed")
    return faults


def _in_utc(local_time: str) -> str:
    try:
        return datetime.fromisoformat(local_time).astimezone(UTC).isoformat()
    except ValueError:
        return ""


def signatures_of(act: Act, record_id: str) -> list[Signature]:
    """Return the signatures on one record, oldest first."""
    rows = act.session.scalars(select(Signature).where(Signature.record_id == record_id))
    return sorted(rows, key=lambda row: row.signed_at)
