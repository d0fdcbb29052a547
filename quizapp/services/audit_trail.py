"""Writes each act onto the audit chain, in the same transaction as what it did."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_chain import NO_HASH, AuditEntry, JsonValue, audit_body, chain_hash, record_hash
from quizapp.assessment.audit_events import AuditEvent
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

    `thing` is what the act was about in a few words without personal data; names are never stored here. `after` and
    `before` are the changed record's fields (ids, codes, whole numbers): `after` is kept, and both are hashed.
    """
    return append(
        act.session,
        act.now,
        actor_id=act.actor.person_id,
        event=event,
        object_type=object_type,
        object_id=object_id,
        details={"person": person_id, "thing": thing, "record": after},
        before=None if before is None else record_hash(before),
        after=None if after is None else record_hash(after),
    )


def append(
    session: Session,
    now: datetime,
    *,
    actor_id: str,
    event: AuditEvent,
    object_type: str,
    object_id: str,
    details: Mapping[str, JsonValue],
    before: bytes | None = None,
    after: bytes | None = None,
) -> int:
    """Add one row for an actor who need not be signed in (a refused sign-in, the founding command)."""
    session.flush()
    head = session.scalar(select(AuditHead).where(AuditHead.chain == CHAIN).with_for_update())
    if head is None:
        head = AuditHead(chain=CHAIN, seq=0, hash=NO_HASH)
        session.add(head)
    seq, prev = head.seq + 1, head.hash
    body = audit_body(
        AuditEntry(
            chain=CHAIN,
            seq=seq,
            at=now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
            actor_id=actor_id or None,
            act=event.value,
            object_type=object_type,
            object_id=object_id,
            before=before,
            after=after,
            details=details,
        )
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
