"""Verifies one signature step by step: what was shown, the signature itself, the records it stands on, the trail."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_chain import JsonValue, chain_hash, parse_canonical
from quizapp.assessment.record_hashes import row_hash
from quizapp.errors import BadInput, NotFound
from quizapp.services.signed_records import compared_records
from quizapp.services.signing import faults_of_signature
from quizapp.store.audit import AuditHead, AuditRow, Signature
from quizapp.store.model import Record
from quizapp.store.record_seals import RecordSeal, key_text, records_of

RECEIPT = re.compile(r"[0-9a-f]{16,64}")


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing that was checked: what, whether it fits, and what exactly was found."""

    about: str
    fits: bool
    found: str


@dataclass(frozen=True, kw_only=True)
class Verified:
    """One signature with all that was checked about it; `statement` is what was shown, None when it cannot be read."""

    signature: Signature
    statement: dict[str, Any] | None
    steps: tuple[Step, ...]

    @property
    def is_whole(self) -> bool:
        """Whether everything fits."""
        return all(step.fits for step in self.steps)


def signature_by_receipt(session: Session, receipt: str) -> Signature:
    """Return the signature whose hash begins with the receipt (16 to 64 hex digits).

    Raises BadInput for anything else, NotFound when no signature bears it.
    """
    wanted = receipt.strip().casefold()
    if not RECEIPT.fullmatch(wanted):
        raise BadInput("A receipt has 16 to 64 of the signs 0-9 and a-f, as printed beside the signature.",
                       field="receipt")  # fmt: skip
    found = session.scalars(select(Signature).where(Signature.signature_hash.startswith(wanted)).limit(2)).all()
    if len(found) != 1:
        raise NotFound("No signature here bears this receipt. Compare it sign by sign with the one on paper.")
    return found[0]


def verify_signature(session: Session, signature: Signature) -> Verified:
    """Check everything about one signature; what does not fit is named, nothing is raised for it."""
    statement = _statement(signature)
    compared = compared_records(session, signature, statement) if statement is not None else None
    records = compared[0] if compared else []
    steps = [_shown_step(signature, statement), _signature_step(signature)]
    if compared is not None:
        steps.append(_record_step(compared[1], len(records)))
    steps.append(_trail_step(session, signature, records))
    return Verified(signature=signature, statement=statement, steps=tuple(steps))


def _statement(signature: Signature) -> dict[str, Any] | None:
    try:
        value: JsonValue = parse_canonical(signature.shown)
    except ValueError:
        return None
    return dict(value) if isinstance(value, dict) else None


def _shown_step(signature: Signature, statement: dict[str, Any] | None) -> Step:
    now = hashlib.sha256(signature.shown).hexdigest()
    fits = now == signature.record_hash and statement is not None
    found = f"{len(signature.shown)} bytes, SHA-256 {now[:16]}…, as signed"
    if not fits:
        found = f"{len(signature.shown)} bytes, SHA-256 {now[:16]}…; signed was {signature.record_hash[:16]}…"
    return Step(about="What was shown", fits=fits, found=found)


def _signature_step(signature: Signature) -> Step:
    faults = [one for one in faults_of_signature(signature) if "what was shown" not in one]
    found = "name, staff number, role, meaning, time and zone are those that were signed"
    return Step(about="The signature", fits=not faults, found="; ".join(faults) or found)


def _record_step(differing: Sequence[str], count: int) -> Step:
    kept = "the record says what was shown" if count == 1 else f"{count} records say what was shown"
    kept = kept if count else "no record rests on it yet"
    return Step(about="The record", fits=not differing, found="; ".join(differing) or kept)


def _trail_step(session: Session, signature: Signature, records: Sequence[Record]) -> Step:
    """Find the rows of the trail that sealed the signature and its records, and check them and their next links."""
    wanted = [("signature", signature.id), *((one.__tablename__, str(vars(one)["id"])) for one in records)]
    moments = [signature.signed_at, *(moment for one in records for moment in _changed_at(one))]
    rows = _rows_about(session, [signature.record_id, *(key for _table, key in wanted)], moments)
    faults, seals = [], {}
    for row in rows:
        faults += _row_faults(session, row)
        for table, key, sealed in _records_in(row):
            seals[table, key] = (sealed, row.seq)
    for table, key in wanted:
        sealed, seq = seals.get((table, key), ("", 0))
        if not sealed:
            faults.append(f"no row of the audit trail sealed the {table.replace('_', ' ')}")
        elif _hash_now(session, table, key) != sealed:
            faults.append(f"the {table.replace('_', ' ')} is not what row {seq} of the audit trail sealed")
    place = seals.get(("signature", signature.id), ("", 0))[1]
    return Step(
        about="The audit trail", fits=not faults, found="; ".join(faults) or f"sealed by row {place}, which fits"
    )


def _changed_at(record: Record) -> list[datetime]:
    """Give the moments at which something was added to a record after it was signed: a void, its confirmation."""
    return [vars(record)[name] for name in ("voided_at", "settled_at") if vars(record).get(name) is not None]


def _rows_about(session: Session, ids: Iterable[str], moments: Sequence[datetime]) -> list[AuditRow]:
    wanted = or_(AuditRow.object_id.in_(set(ids)), AuditRow.at.in_(set(moments)))
    about = select(AuditRow).where(wanted).order_by(AuditRow.seq)
    return list(session.scalars(about))


def _records_in(row: AuditRow) -> list[tuple[str, str, str]]:
    try:
        return [(table, key, sealed) for table, key, sealed in json.loads(row.body)["details"].get("records", ())]
    except (ValueError, TypeError, KeyError, AttributeError):
        return []


def _row_faults(session: Session, row: AuditRow) -> list[str]:
    """Check one row's own hash and that the next row, or the head, goes on from it."""
    if chain_hash(row.prev, row.body) != row.hash:
        return [f"row {row.seq} of the audit trail was changed"]
    following = session.scalar(select(AuditRow.prev).where(AuditRow.seq == row.seq + 1))
    head = session.scalar(select(AuditHead.hash).where(AuditHead.seq == row.seq))
    if row.hash not in {following, head}:
        return [f"the audit trail does not go on from row {row.seq}"]
    return []


def _hash_now(session: Session, table: str, key: str) -> str:
    described = Record.metadata.tables[table]
    salt = session.get(RecordSeal, (table, key_text([key])))
    found = dict(records_of(session, described, described.c.id == key))
    if key not in found:
        return "gone"
    try:
        return row_hash(table, found[key], salt=bytes.fromhex(salt.salt if salt else "")).hex()
    except ValueError:
        return "without its salt"
