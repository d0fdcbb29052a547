"""Compares every record as it stands with the newest hash that the audit chain holds of it, and checks signatures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy import Table, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from quizapp.assessment.audit_chain import ChainFault, FaultKind
from quizapp.assessment.record_hashes import SALT_BYTES, row_hash
from quizapp.services.signing import faults_of_signature
from quizapp.store.audit import Signature
from quizapp.store.record_seals import RecordSeal, records_of, sealed_tables

Seals = Mapping[tuple[str, str], tuple[str, int]]


def verify_records(session: Session, seals: Seals) -> tuple[int, list[ChainFault]]:
    """Return how many records were compared, and what does not fit.

    `seals` is (table, key) -> (hash in hex, "" for a removed record; number of the row that says so).
    """
    salts = {(row.record_table, row.record_key): row.salt for row in session.scalars(select(RecordSeal))}
    faults: list[ChainFault] = []
    seen: set[tuple[str, str]] = set()
    for table in sealed_tables():
        try:
            faults += _of_table(session, table, seals, salts, seen)
        except SQLAlchemyError as fault:
            faults.append(_differs(0, f"The records of {table.name} cannot all be read ({type(fault).__name__})."))
            break
    faults += [
        _differs(
            seq, f"{table} {key} is gone, but row {seq} of the audit trail sealed it and none says it was removed."
        )
        for (table, key), (sealed, seq) in seals.items()
        if sealed and (table, key) not in seen
    ]
    return len(seen), sorted(faults, key=lambda one: one.seq)


def _of_table(
    session: Session, table: Table, seals: Seals, salts: Mapping[tuple[str, str], str], seen: set[tuple[str, str]]
) -> Iterator[ChainFault]:
    for key, fields in records_of(session, table):
        place = (table.name, key)
        seen.add(place)
        sealed, seq = seals.get(place, ("", 0))
        if not sealed:
            yield _differs(seq, f"{table.name} {key} stands in the database, but no row of the audit trail wrote it.")
        elif row_hash(table.name, fields, salt=_salt(salts.get(place, ""))).hex() != sealed:
            yield _differs(seq, f"{table.name} {key} is not what row {seq} of the audit trail sealed: it was changed.")


def _salt(text: str) -> bytes:
    """Return a salt as kept; one that was changed or lost gives a salt that fits nothing."""
    try:
        salt = bytes.fromhex(text)
    except ValueError:
        salt = b""
    return salt if len(salt) == SALT_BYTES else bytes(SALT_BYTES)


def _differs(seq: int, message: str) -> ChainFault:
    return ChainFault(kind=FaultKind.RECORD_DIFFERS, seq=seq, message=message)


def verify_signatures(session: Session, seals: Seals) -> tuple[int, list[ChainFault]]:
    """Return how many signatures there are, and what does not fit in one, at the row that sealed it (0: not known)."""
    count = 0
    faults: list[ChainFault] = []
    try:
        for row in session.scalars(select(Signature).execution_options(yield_per=500)):
            count += 1
            seq = seals.get(("signature", row.id), ("", 0))[1]
            faults += [_bad(seq, f"Signature {row.id}: {fault}.") for fault in faults_of_signature(row)]
    except (SQLAlchemyError, ValueError) as fault:
        faults.append(_bad(0, f"The signatures cannot all be read ({type(fault).__name__})."))
    return count, faults


def _bad(seq: int, message: str) -> ChainFault:
    return ChainFault(kind=FaultKind.SIGNATURE_BAD, seq=seq, message=message)
