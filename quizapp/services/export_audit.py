"""Takes out the audit chain: as JSON lines that anybody can check, as an anchor, or told as a person's acts."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_anchors import Anchor, make_anchor
from quizapp.assessment.audit_chain import ChainHead
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.audit_sentences import SENTENCES, sentence
from quizapp.errors import Conflict, NotFound
from quizapp.services.audit_trail import CHAIN, SYSTEM, append
from quizapp.store.audit import AuditHead, AuditRow
from quizapp.store.columns import STORED_TIME
from quizapp.store.people import Person

THE_SERVICE = "the service itself"


def head_of_chain(session: Session) -> ChainHead:
    """Return the head as kept; raise Conflict when nothing was recorded yet."""
    head = session.scalar(select(AuditHead).where(AuditHead.chain == CHAIN))
    if head is None or head.seq == 0:
        raise Conflict("The audit trail is empty; there is nothing to take out yet.")
    return ChainHead(seq=head.seq, hash=head.hash)


def export_lines(session: Session) -> Iterator[str]:
    """Give one line of canonical JSON a row, and a last line with the head, each without the line's end."""
    end = ChainHead(seq=0, hash=bytes(32))
    rows = select(AuditRow.seq, AuditRow.prev, AuditRow.hash, AuditRow.body).order_by(AuditRow.seq)
    for row in session.execute(rows.execution_options(yield_per=1000)):
        # A body that is no UTF-8 was tampered with; written like this its hash cannot fit.
        body = row.body.decode("utf-8", "backslashreplace")
        yield _line({"seq": row.seq, "prev": row.prev.hex(), "hash": row.hash.hex(), "body": body})
        end = ChainHead(seq=row.seq, hash=row.hash)
    yield _line({"head": {"seq": end.seq, "hash": end.hash.hex()}})


def _line(fields: object) -> str:
    return json.dumps(fields, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def take_anchor(session: Session, now: datetime, *, secret: str) -> Anchor:
    """Seal the head as it stands and note on the chain that it was taken out, unless that was the last act."""
    head = head_of_chain(session)
    at = now.astimezone(UTC).strftime(STORED_TIME)
    last = session.scalar(select(AuditRow.event).where(AuditRow.seq == head.seq))
    if last != AuditEvent.ANCHOR_TAKEN:
        append(
            session, now, actor_id=SYSTEM, event=AuditEvent.ANCHOR_TAKEN, object_type="chain", object_id=CHAIN,
            details={"thing": f"row {head.seq}", "head": head.hash.hex()},
        )  # fmt: skip
    return make_anchor(secret, chain=CHAIN, head=head, at=at)


def note_export(session: Session, now: datetime) -> None:
    """Note on the chain that the whole of it was taken out."""
    append(session, now, actor_id=SYSTEM, event=AuditEvent.LIST_EXPORTED, object_type="chain", object_id=CHAIN,
           details={"thing": "the audit trail"})  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ToldAct:
    """One act in words: its row, when (UTC), and the sentence."""

    seq: int
    at: datetime
    said: str


def acts_of(session: Session, *, staff_number: str, names_others: bool = True) -> list[ToldAct]:
    """Tell every act by or about a person, oldest first; raises NotFound for an unknown staff number.

    Without `names_others` everybody else is "somebody", as in what a person is given about themselves.
    """
    person_id = session.scalar(select(Person.id).where(Person.staff_number == staff_number))
    if person_id is None:
        raise NotFound(f"Nobody has the staff number {staff_number!r}.")
    named = select(Person.id, Person.name)
    names = dict(session.execute(named if names_others else named.where(Person.id == person_id)).all())
    rows = select(AuditRow.seq, AuditRow.at, AuditRow.event, AuditRow.body).order_by(AuditRow.seq)
    told = []
    for row in session.execute(rows.execution_options(yield_per=1000)):
        if person_id.encode() in row.body:
            body = json.loads(row.body)
            about = str(body["details"].get("person") or "")
            if person_id in {about, body["actor_id"], body["object_id"]}:
                told.append(ToldAct(seq=row.seq, at=row.at, said=_said(row.event, body, about, names)))
    return told


def note_look(session: Session, now: datetime, *, staff_number: str) -> None:
    """Note on the chain that somebody looked, from the command line, at what a person did."""
    person_id = session.scalar(select(Person.id).where(Person.staff_number == staff_number)) or ""
    append(session, now, actor_id=SYSTEM, event=AuditEvent.RECORD_SEEN, object_type="person", object_id=person_id,
           details={"person": person_id, "thing": "audit trail, by command"})  # fmt: skip


def _said(event: str, body: dict[str, object], about: str, names: dict[str, str]) -> str:
    if event not in SENTENCES:
        return event
    details = body["details"]
    thing = str(details.get("thing") or "") if isinstance(details, dict) else ""
    actor_id = str(body["actor_id"] or "")
    actor = names.get(actor_id, "somebody" if actor_id not in {"", SYSTEM} else THE_SERVICE)
    said = sentence(AuditEvent(event), actor=actor, person=names.get(about, "somebody"), thing=thing or "a thing")
    return said[0].upper() + said[1:]
