"""Walks the stored audit chain from row to row and says what does not fit, the first bad row first."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Text, select, type_coerce
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from quizapp.assessment.audit_anchors import Anchor, is_genuine, key_id_of
from quizapp.assessment.audit_chain import (
    BEFORE_THE_FIRST,
    AuditRow,
    ChainFault,
    ChainHead,
    FaultKind,
    verify_chain,
)
from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import NotFound
from quizapp.services.audit_trail import CHAIN
from quizapp.store import audit
from quizapp.store.columns import STORED_TIME

CLOCK_MAY_LAG = timedelta(seconds=30)
"""An act takes its time before it waits for its turn, so neighbours may stand a little out of step."""


@dataclass(frozen=True, kw_only=True)
class ChainReport:
    """What a walk found: rows checked, the last of them, the newest anchor that fits (0: none), faults, notes.

    `seals` is (table, key) -> (hash in hex, row number) of each record, when the walk began at the first row.
    """

    rows: int
    head: ChainHead
    good_anchor: int
    faults: tuple[ChainFault, ...]
    notes: tuple[str, ...]
    seals: dict[tuple[str, str], tuple[str, int]]


def verify_stored_chain(
    session: Session, *, first: int = 1, anchors: Sequence[Anchor] = (), secret: str = ""
) -> ChainReport:
    """Check the chain from row `first` on, its head, and the anchors, whose seals are tried with `secret`.

    Raises NotFound when the row before `first` is not there to start from.
    """
    walk = _Walk(session=session, first=first, anchors={(one.head.seq, one.head.hash) for one in anchors})
    start = _head_before(session, first)
    fault = verify_chain(walk.rows(), anchors=[one.head for one in anchors], after=start)
    for _rest in walk.rows_left():
        pass
    faults = [*([fault] if fault else []), *walk.faults, *_head_faults(session, walk), *_seal_faults(anchors, secret)]
    good = [seq for seq in walk.fitting_anchors if fault is None or seq < fault.seq]
    return ChainReport(
        rows=walk.count,
        head=walk.head,
        good_anchor=max(good, default=0),
        faults=tuple(sorted(faults, key=lambda one: one.seq)),
        notes=(*walk.notes, *_foreign_keys(anchors, secret)),
        seals=walk.seals,
    )


def _head_before(session: Session, first: int) -> ChainHead:
    if first <= 1:
        return BEFORE_THE_FIRST
    found = session.scalar(select(audit.AuditRow.hash).where(audit.AuditRow.seq == first - 1))
    if found is None:
        raise NotFound(f"There is no row {first - 1} to start from. Check the whole chain instead.")
    return ChainHead(seq=first - 1, hash=found)


@dataclass(kw_only=True)
class _Walk:
    session: Session
    first: int
    anchors: set[tuple[int, bytes]]
    count: int = 0
    head: ChainHead = BEFORE_THE_FIRST
    last_time: str = ""
    faults: list[ChainFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    fitting_anchors: list[int] = field(default_factory=list)
    seals: dict[tuple[str, str], tuple[str, int]] = field(default_factory=dict)
    _left: Iterator[AuditRow] = field(default_factory=lambda: iter(()))

    def rows(self) -> Iterator[AuditRow]:
        self._left = self._read()
        return self._left

    def rows_left(self) -> Iterator[AuditRow]:
        """What the check of the chain left unread, since it stops at its first fault."""
        return self._left

    def _read(self) -> Iterator[AuditRow]:
        table = audit.AuditRow
        wanted = select(
            table.seq, table.prev, table.hash, table.body, type_coerce(table.at, Text).label("at"), table.actor_id,
            table.event, table.object_type, table.object_id,
        ).order_by(table.seq)  # fmt: skip
        if self.first > 1:
            wanted = wanted.where(table.seq >= self.first)
        try:
            for stored in self.session.execute(wanted.execution_options(yield_per=1000)):
                row = AuditRow(seq=stored.seq, prev=stored.prev, body=stored.body, hash=stored.hash)
                self._note(row, stored)
                yield row
        except SQLAlchemyError as fault:
            self._add(self.head.seq + 1, f"The row after {self.head.seq} cannot be read ({type(fault).__name__}).")

    def _note(self, row: AuditRow, stored: Any) -> None:
        self.count += 1
        self.head = ChainHead(seq=row.seq, hash=row.hash)
        if (row.seq, row.hash) in self.anchors:
            self.fitting_anchors.append(row.seq)
        try:
            said = json.loads(row.body)
            self._compare(row.seq, said, stored)
            for table, key, sealed in said["details"].get("records", ()):
                self.seals[table, key] = (sealed, row.seq)
            self._note_time(row.seq, said)
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            self._add(row.seq, f"Row {row.seq} does not say what a row of this trail says.")

    def _compare(self, seq: int, said: dict[str, Any], stored: Any) -> None:
        """The columns repeat the body for searching; pages read them, so they must say the same."""
        columns = {
            "at": stored.at.strftime(STORED_TIME) if isinstance(stored.at, datetime) else stored.at,
            "actor_id": stored.actor_id or None,
            "act": stored.event,
            "object_type": stored.object_type,
            "object_id": stored.object_id,
        }
        different = [name for name, value in columns.items() if said[name] != value]
        if different:
            self._add(seq, f"Row {seq}: what stands beside the hashed text ({', '.join(different)}) was changed.")

    def _note_time(self, seq: int, said: dict[str, Any]) -> None:
        at = str(said["at"])
        if at < self.last_time and _moment(self.last_time) - _moment(at) > CLOCK_MAY_LAG:
            self.notes.append(f"The clock went back before row {seq}: {at} follows {self.last_time}.")
        self.last_time = max(at, self.last_time)
        if said["act"] == AuditEvent.RESTORED:
            old = said["details"].get("old_head") or {}
            given_up = (
                f"rows {seq} to {old['seq']} of before are given up" if old.get("seq", 0) >= seq else "no row lost"
            )
            self.notes.append(f"Row {seq} says that a backup was restored: {given_up}.")

    def _add(self, seq: int, message: str) -> None:
        self.faults.append(ChainFault(kind=FaultKind.EDIT, seq=seq, message=message))


def _moment(text: str) -> datetime:
    return datetime.strptime(text, STORED_TIME)  # noqa: DTZ007 - only compared with its like


def _head_faults(session: Session, walk: _Walk) -> list[ChainFault]:
    stored = session.scalar(select(audit.AuditHead).where(audit.AuditHead.chain == CHAIN))
    kept = ChainHead(seq=stored.seq, hash=stored.hash) if stored else BEFORE_THE_FIRST
    if walk.count == 0 and walk.first > 1:
        walk.head = _head_before(session, walk.first)
    if kept == walk.head:
        return []
    if kept.seq > walk.head.seq:
        message = f"The chain ends at row {walk.head.seq}, but its head says row {kept.seq}: rows are missing."
        return [ChainFault(kind=FaultKind.TRUNCATED, seq=walk.head.seq + 1, message=message)]
    message = f"The head kept beside the chain names row {kept.seq}; the chain ends with another row {walk.head.seq}."
    return [ChainFault(kind=FaultKind.HEAD_DIFFERS, seq=walk.head.seq, message=message)]


def _seal_faults(anchors: Sequence[Anchor], secret: str) -> list[ChainFault]:
    bad = [one for one in anchors if secret and one.key_id == key_id_of(secret) and not is_genuine(secret, one)]
    return [
        ChainFault(
            kind=FaultKind.SIGNATURE_BAD,
            seq=one.head.seq,
            message=f"The anchor at row {one.head.seq} does not bear this service's seal: the line was changed.",
        )
        for one in bad
    ]


def _foreign_keys(anchors: Sequence[Anchor], secret: str) -> list[str]:
    foreign = [one for one in anchors if secret and one.key_id != key_id_of(secret)]
    if not foreign:
        return []
    return [f"{len(foreign)} anchors were sealed with another secret; only their hashes were compared."]
