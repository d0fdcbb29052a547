"""Writes each act onto the audit chain, in the same transaction as what it did.

With each row go the hashes of the records that were changed since the row before it ("records" in the details).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import Any, TypeAlias

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_chain import NO_HASH, AuditEntry, JsonValue, audit_body, chain_hash, record_hash
from quizapp.assessment.audit_events import AuditEvent
from quizapp.services.act import Act
from quizapp.store.audit import AuditHead, AuditRow
from quizapp.store.database import BEFORE_COMMIT
from quizapp.store.record_seals import take_seals

CHAIN = "service"
SYSTEM = "system"
Seal: TypeAlias = tuple[str, str, str]


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
    seals = take_seals(session)
    head = _lock_head(session)
    row = _next_row(
        head, now, actor_id=actor_id, event=event, object_type=object_type, object_id=object_id,
        details=_with_records(details, seals), before=before, after=after,
    )  # fmt: skip
    session.execute(insert(AuditRow), [row])
    session.flush()
    session.info[BEFORE_COMMIT] = partial(_seal_the_rest, now, actor_id)
    return head.seq


def _seal_the_rest(now: datetime, actor_id: str, session: Session) -> None:
    """Put what an act changed after its last row onto the chain as well, in a row of its own."""
    seals = take_seals(session)
    if seals:
        append(
            session, now, actor_id=actor_id, event=AuditEvent.RECORDS_SEALED, object_type="records",
            object_id=f"{len(seals)}", details=_with_records({}, seals),
        )  # fmt: skip


def _with_records(details: Mapping[str, JsonValue], seals: Sequence[Seal]) -> dict[str, JsonValue]:
    return {**details, "records": [list(seal) for seal in seals]} if seals else dict(details)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One of many rows that the same act writes; the fields are those of `record`."""

    event: AuditEvent
    object_type: str
    object_id: str
    person_id: str = ""
    thing: str = ""
    after: JsonValue = None
    before: JsonValue = None


def record_many(act: Act, entries: Iterable[Entry]) -> int:
    """Add a row for each entry, in their order, with one lock on the head; return the last sequence number."""
    entries = list(entries)
    seals = _shared_out(take_seals(act.session), entries) if entries else {}
    head = _lock_head(act.session)
    rows = [
        _next_row(
            head,
            act.now,
            actor_id=act.actor.person_id,
            event=entry.event,
            object_type=entry.object_type,
            object_id=entry.object_id,
            details=_with_records(
                {"person": entry.person_id, "thing": entry.thing, "record": entry.after}, seals.get(number, ())
            ),
            before=None if entry.before is None else record_hash(entry.before),
            after=None if entry.after is None else record_hash(entry.after),
        )
        for number, entry in enumerate(entries)
    ]
    if rows:
        act.session.execute(insert(AuditRow), rows)
        act.session.flush()
        act.session.info[BEFORE_COMMIT] = partial(_seal_the_rest, act.now, act.actor.person_id)
    return head.seq


def _shared_out(seals: Iterable[Seal], entries: Sequence[Entry]) -> dict[int, list[Seal]]:
    """Give each hash to the first entry about that very record, what remains to the last entry."""
    places: dict[str, int] = {}
    for number, entry in enumerate(entries):
        places.setdefault(entry.object_id, number)
    shared: dict[int, list[Seal]] = {}
    for seal in seals:
        shared.setdefault(places.get(seal[1], len(entries) - 1), []).append(seal)
    return shared


def _lock_head(session: Session) -> AuditHead:
    session.flush()
    head = session.scalar(select(AuditHead).where(AuditHead.chain == CHAIN).with_for_update())
    if head is None:
        head = AuditHead(chain=CHAIN, seq=0, hash=NO_HASH)
        session.add(head)
    return head


def _next_row(
    head: AuditHead,
    now: datetime,
    *,
    actor_id: str,
    event: AuditEvent,
    object_type: str,
    object_id: str,
    details: Mapping[str, JsonValue],
    before: bytes | None,
    after: bytes | None,
) -> dict[str, Any]:
    """Make the columns of the row that follows the head, and move the head on to it."""
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
    head.seq, head.hash = seq, chain_hash(prev, body)
    return {
        "seq": seq,
        "at": now,
        "actor_id": actor_id,
        "event": event.value,
        "object_type": object_type,
        "object_id": object_id,
        "body": body,
        "prev": prev,
        "hash": head.hash,
    }
