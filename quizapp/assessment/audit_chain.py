"""The canonical bytes that are hashed, the chain of audit hashes, and the check that finds its first fault.

Canonical form: the ideas of RFC 8785 (sorted keys, no spaces, UTF-8), narrowed to text, whole numbers, true, false
and null with ASCII lower-case keys. Domain prefixes keep the hashes of different things apart, as in RFC 9162.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from typing import TypeAlias

JsonValue: TypeAlias = "str | int | bool | Sequence[JsonValue] | Mapping[str, JsonValue] | None"

AUDIT_PREFIX = b"audit-v1\0"
RECORD_PREFIX = b"record-v1\0"
SIGNATURE_PREFIX = b"sig-v1\0"
NO_HASH = bytes(32)
LARGEST_WHOLE_NUMBER = 2**53 - 1
KEY_PATTERN = re.compile(r"[a-z][a-z0-9_]*")


def canonical_bytes(value: JsonValue) -> bytes:
    """Give the one byte string that stands for a value; text is put in Unicode form NFC.

    Raises ValueError naming the place for a float, a number of 2^53 or more, a key that is not ASCII lower case,
    a half surrogate or any other type. Source: RFC 8785, narrowed.
    """
    plain = _plain(value, "value")
    return json.dumps(plain, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def _plain(value: object, place: str) -> object:
    """Check one value and everything in it; give it back as plain lists and dictionaries."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _plain_text(value, place)
    if isinstance(value, int):
        if abs(value) > LARGEST_WHOLE_NUMBER:
            raise ValueError(f"{place}: {value} is too large; whole numbers up to 2^53 - 1 only")
        return int(value)
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str) or not KEY_PATTERN.fullmatch(key):
                raise ValueError(f"{place}: the key {key!r} is not ASCII lower case")
        return {str(key): _plain(inner, f"{place}.{key}") for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner, f"{place}[{index}]") for index, inner in enumerate(value)]
    raise ValueError(f"{place}: {type(value).__name__} has no canonical form; give text or a whole number")


def _plain_text(text: str, place: str) -> str:
    if text.isascii():
        return text
    if any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError(f"{place}: the text holds half a surrogate pair")
    return unicodedata.normalize("NFC", text)


def parse_canonical(body: bytes) -> JsonValue:
    """Read canonical bytes back; raise ValueError when they are not exactly the canonical form of their content."""
    try:
        value: JsonValue = json.loads(body.decode("utf-8"))
        again = canonical_bytes(value)
    except (UnicodeDecodeError, RecursionError, json.JSONDecodeError) as fault:
        raise ValueError(f"not canonical: {fault}") from fault
    if again != body:
        raise ValueError("not canonical: written again, the bytes differ")
    return value


def chain_hash(prev: bytes, body: bytes) -> bytes:
    """Give the hash of an audit row from the hash before it (32 bytes) and its body."""
    if len(prev) != len(NO_HASH):
        raise ValueError(f"the hash before must be 32 bytes, not {len(prev)}")
    return hashlib.sha256(AUDIT_PREFIX + prev + body).digest()


def record_hash(record: JsonValue) -> bytes:
    """Give the hash of a record as it stands, for the audit row that wrote it."""
    return hashlib.sha256(RECORD_PREFIX + canonical_bytes(record)).digest()


def signature_hash(signature: JsonValue) -> bytes:
    """Give the hash of a signature row (all its fields but this hash)."""
    return hashlib.sha256(SIGNATURE_PREFIX + canonical_bytes(signature)).digest()


@dataclass(frozen=True, kw_only=True)
class AuditEntry:
    """What one audit row says.

    `seq` counts from 1, `at` is UTC as YYYY-MM-DDTHH:MM:SS.ffffffZ, `actor_id` None is the service itself,
    `before` and `after` are the hashes of the record the act changed.
    """

    chain: str
    seq: int
    at: str
    actor_id: str | None
    act: str
    object_type: str
    object_id: str
    before: bytes | None = None
    after: bytes | None = None
    details: Mapping[str, JsonValue] = field(default_factory=dict)


def audit_body(entry: AuditEntry) -> bytes:
    """Give the canonical body of one audit row, hashes as hexadecimal text."""
    return canonical_bytes(
        {
            "chain": entry.chain,
            "seq": entry.seq,
            "at": entry.at,
            "actor_id": entry.actor_id,
            "act": entry.act,
            "object_type": entry.object_type,
            "object_id": entry.object_id,
            "before": None if entry.before is None else entry.before.hex(),
            "after": None if entry.after is None else entry.after.hex(),
            "details": entry.details,
        }
    )


@dataclass(frozen=True, kw_only=True)
class AuditRow:
    """One stored row; `body` is the very blob that was hashed and holds its own number as "seq"."""

    seq: int
    prev: bytes
    body: bytes
    hash: bytes


@dataclass(frozen=True, kw_only=True)
class ChainHead:
    """The last number and hash of a chain at some time; kept elsewhere it is an anchor."""

    seq: int
    hash: bytes


class FaultKind(StrEnum):
    """What is wrong with a chain, or with what it vouches for."""

    EDIT = "edit"
    GAP = "gap"
    ORDER = "order"
    DUPLICATE = "duplicate"
    TRUNCATED = "truncated"
    ANCHOR_MISMATCH = "anchor_mismatch"
    SIGNATURE_BAD = "signature_bad"
    HEAD_DIFFERS = "head_differs"
    RECORD_DIFFERS = "record_differs"


@dataclass(frozen=True, kw_only=True)
class ChainFault:
    """The first fault of a chain: its kind, the number at which it shows, and one sentence."""

    kind: FaultKind
    seq: int
    message: str


BEFORE_THE_FIRST = ChainHead(seq=0, hash=NO_HASH)


def verify_chain(
    rows: Iterable[AuditRow], *, anchors: Iterable[ChainHead] = (), after: ChainHead = BEFORE_THE_FIRST
) -> ChainFault | None:
    """Give the first fault of a chain, or None when every row follows from the one before.

    `rows` come in the order of their numbers, from the one following `after`. Without `anchors` a cut tail or a
    chain written anew from some point on cannot be seen; with them it can, up to the last anchor.
    """
    head = after
    due: dict[int, set[bytes]] = {}
    for anchor in anchors:
        if anchor.seq > after.seq:
            due.setdefault(anchor.seq, set()).add(anchor.hash)
    remaining = iter(rows)
    for row in remaining:
        fault = _fault_of(row, head, remaining)
        if fault is None and row.seq in due and due.pop(row.seq) != {row.hash}:
            fault = ChainFault(
                kind=FaultKind.ANCHOR_MISMATCH,
                seq=row.seq,
                message=f"Row {row.seq} differs from the anchor kept elsewhere: the chain was written anew before it.",
            )
        if fault is not None:
            return fault
        head = ChainHead(seq=row.seq, hash=row.hash)
    if due:
        return ChainFault(
            kind=FaultKind.TRUNCATED,
            seq=head.seq + 1,
            message=f"The chain ends at row {head.seq}, but an anchor was taken at row {max(due)}: rows are missing.",
        )
    return None


def _fault_of(row: AuditRow, head: ChainHead, remaining: Iterable[AuditRow]) -> ChainFault | None:
    """Compare one row with the head before it; `remaining` is read only when the numbers do not follow."""
    expected = head.seq + 1
    number = _number_in(row)
    if number is None:
        return ChainFault(
            kind=FaultKind.EDIT, seq=expected, message=f"Row {row.seq} is not what was written: its hash does not fit."
        )
    if number < expected:
        return ChainFault(
            kind=FaultKind.DUPLICATE, seq=expected, message=f"Row {number} stands again where row {expected} belongs."
        )
    if number > expected:
        return _missing(expected, remaining)
    if row.seq != expected or row.prev != head.hash:
        return ChainFault(
            kind=FaultKind.EDIT,
            seq=expected,
            message=f"Row {expected} does not follow from the row before it: its number or its link was changed.",
        )
    return None


def _missing(expected: int, remaining: Iterable[AuditRow]) -> ChainFault:
    """Say whether the expected row stands further on (order) or nowhere (gap)."""
    if any(_number_in(row) == expected for row in remaining):
        return ChainFault(
            kind=FaultKind.ORDER, seq=expected, message=f"Row {expected} stands further on: rows changed places."
        )
    return ChainFault(kind=FaultKind.GAP, seq=expected, message=f"Row {expected} is missing.")


def _number_in(row: AuditRow) -> int | None:
    """Give the number written in the body of an untouched row, None when its hash or its form does not fit."""
    if len(row.prev) != len(NO_HASH) or chain_hash(row.prev, row.body) != row.hash:
        return None
    try:
        body = parse_canonical(row.body)
    except ValueError:
        return None
    number = body.get("seq") if isinstance(body, Mapping) else None
    return number if isinstance(number, int) and not isinstance(number, bool) else None


def clock_steps(times: Sequence[tuple[int, str]]) -> list[int]:
    """Give the numbers of the rows whose time is earlier than the row before; `times` are (number, UTC text)."""
    return [later[0] for earlier, later in pairwise(times) if later[1] < earlier[1]]
