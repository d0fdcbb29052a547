"""Writes each act onto the audit chain, in the same transaction as what it did."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import NO_HASH, AuditEvent, JsonValue, canonical_bytes, chain_hash
from quizapp.services.act import Act
from quizapp.store.audit import AuditHead, AuditRow

CHAIN = "service"
SYSTEM = "system"


def record(
    act: Act,
    event: AuditEvent,
    object_type: str,
    object_id: str,
    *,
    person_id: str = "",
    thing: str = "",
    after: JsonValue = None,
    before: JsonValue = None,
) -> int:
    """Add one row to the chain and return its sequence number.

    `thing` is what the act was about in a few words without personal data; names are never stored here.
    """
    return append(
        act.session,
        act.now,
        actor_id=act.actor.person_id,
        event=event,
        object_type=object_type,
        object_id=object_id,
        details={"person": person_id, "thing": thing, "before": before, "after": after},
    )


def append(
    session: Session,
    now: datetime,
    *,
    actor_id: str,
    event: AuditEvent,
    object_type: str,
    object_id: str,
    details: JsonValue,
) -> int:
    """Add one row for an actor who need not be signed in (a refused sign-in, the founding command)."""
    session.flush()
    head = session.scalar(select(AuditHead).where(AuditHead.chain == CHAIN).with_for_update())
    if head is None:
        head = AuditHead(chain=CHAIN, seq=0, hash=NO_HASH)
        session.add(head)
    seq, prev = head.seq + 1, head.hash
    body = canonical_bytes(
        {
            "chain": CHAIN,
            "seq": seq,
            "at": now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
            "actor": actor_id,
            "event": event.value,
            "object_type": object_type,
            "object_id": object_id,
            "details": details,
        }
    )
    link = chain_hash(prev, body)
    session.add(
        AuditRow(
            seq=seq,
            at=now,
            actor_id=actor_id,
            event=event.value,
            object_type=object_type,
            object_id=object_id,
            body=body,
            prev=prev,
            hash=link,
        )
    )
    head.seq, head.hash = seq, link
    session.flush()
    return seq
