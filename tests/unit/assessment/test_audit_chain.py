"""The audit chain: every edit is found, and what only an anchor can find is found with one."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizapp.assessment.audit_chain import (
    NO_HASH,
    AuditEntry,
    AuditRow,
    ChainHead,
    FaultKind,
    audit_body,
    canonical_bytes,
    chain_hash,
    clock_steps,
    parse_canonical,
    record_hash,
    signature_hash,
    verify_chain,
)


def written_chain(length: int, salt: str = "") -> list[AuditRow]:
    rows: list[AuditRow] = []
    prev = NO_HASH
    for seq in range(1, length + 1):
        entry = AuditEntry(
            chain="main",
            seq=seq,
            at=f"2026-03-14T09:00:{seq % 60:02d}.000000Z",
            actor_id=f"{seq:032x}",
            act="answer_saved",
            object_type="sitting",
            object_id=f"{seq * 7:032x}",
            after=record_hash({"answer": f"{seq},5{salt}"}),
        )
        body = audit_body(entry)
        rows.append(AuditRow(seq=seq, prev=prev, body=body, hash=chain_hash(prev, body)))
        prev = rows[-1].hash
    return rows


CHAIN = written_chain(40)


def relinked(bodies: list[bytes]) -> list[AuditRow]:
    """Write a chain anew over given bodies, as somebody with the database in hand could."""
    rows: list[AuditRow] = []
    prev = NO_HASH
    for seq, body in enumerate(bodies, start=1):
        rows.append(AuditRow(seq=seq, prev=prev, body=body, hash=chain_hash(prev, body)))
        prev = rows[-1].hash
    return rows


def kind_of(rows: list[AuditRow], *anchors: ChainHead) -> FaultKind | None:
    fault = verify_chain(rows, anchors=anchors)
    return None if fault is None else fault.kind


def head_of(rows: list[AuditRow], seq: int) -> ChainHead:
    return ChainHead(seq=seq, hash=rows[seq - 1].hash)


def test_an_untouched_chain_has_no_fault():
    assert verify_chain(CHAIN, anchors=[head_of(CHAIN, 40), head_of(CHAIN, 7)]) is None
    assert verify_chain([]) is None


def test_a_later_part_is_checked_from_a_known_head():
    assert verify_chain(CHAIN[10:], after=head_of(CHAIN, 10), anchors=[head_of(CHAIN, 4)]) is None
    assert kind_of(CHAIN[10:]) is FaultKind.GAP


@settings(max_examples=400)
@given(st.integers(0, 39), st.sampled_from(["body", "hash", "prev"]), st.integers(0, 10_000), st.integers(1, 255))
def test_every_single_byte_edit_is_found_at_its_row(place, column, position, change):
    row = CHAIN[place]
    blob = bytearray(getattr(row, column))
    blob[position % len(blob)] ^= change
    edited = [*CHAIN[:place], replace(row, **{column: bytes(blob)}), *CHAIN[place + 1 :]]
    fault = verify_chain(edited)
    assert fault is not None
    assert fault.kind is FaultKind.EDIT
    assert fault.seq == place + 1


@given(st.integers(0, 38))
def test_a_deleted_inner_row_is_a_gap_even_when_written_anew(place):
    without = [*CHAIN[:place], *CHAIN[place + 1 :]]
    assert kind_of(without) is FaultKind.GAP
    assert kind_of(relinked([row.body for row in without])) is FaultKind.GAP


@given(st.integers(0, 39), st.integers(0, 39))
def test_rows_that_changed_places_are_out_of_order(one, other):
    if one == other:
        return
    rows = list(CHAIN)
    rows[one], rows[other] = rows[other], rows[one]
    assert kind_of(rows) is FaultKind.ORDER
    assert kind_of(relinked([row.body for row in rows])) is FaultKind.ORDER
    exchanged = [replace(row, seq=seq) for seq, row in enumerate(rows, start=1)]
    assert kind_of(exchanged) is FaultKind.ORDER


@given(st.integers(0, 39), st.integers(0, 39))
def test_a_row_put_in_twice_is_a_duplicate(place, earlier):
    earlier = min(place, earlier)
    assert kind_of([*CHAIN[: place + 1], CHAIN[earlier], *CHAIN[place + 1 :]]) is FaultKind.DUPLICATE


@given(st.integers(0, 38))
def test_a_row_rewritten_with_its_hash_made_again_breaks_the_link_of_the_next(place):
    row, other = CHAIN[place], written_chain(place + 1, salt="x")[place]
    rewritten = replace(row, body=other.body, hash=chain_hash(row.prev, other.body))
    fault = verify_chain([*CHAIN[:place], rewritten, *CHAIN[place + 1 :]])
    assert fault is not None
    assert (fault.kind, fault.seq) == (FaultKind.EDIT, place + 2)


def test_a_changed_number_column_alone_is_an_edit():
    rows = [*CHAIN[:5], replace(CHAIN[5], seq=60), *CHAIN[6:]]
    assert kind_of(rows) is FaultKind.EDIT


@given(st.integers(0, 39))
def test_only_an_anchor_sees_a_cut_tail(length):
    assert kind_of(CHAIN[:length]) is None
    assert kind_of(CHAIN[:length], head_of(CHAIN, 40)) is FaultKind.TRUNCATED


def test_only_an_anchor_sees_a_chain_written_anew():
    other = written_chain(40, salt="x")
    assert kind_of(other) is None
    fault = verify_chain(other, anchors=[head_of(CHAIN, 40), head_of(CHAIN, 12)])
    assert fault is not None
    assert fault.kind is FaultKind.ANCHOR_MISMATCH
    assert fault.seq == 12


def test_a_body_that_is_not_canonical_is_an_edit_even_with_its_hash_made_again():
    body = CHAIN[0].body.replace(b'","', b'", "', 1)
    assert kind_of([AuditRow(seq=1, prev=NO_HASH, body=body, hash=chain_hash(NO_HASH, body))]) is FaultKind.EDIT
    numberless = canonical_bytes({"seq": True})
    row = AuditRow(seq=1, prev=NO_HASH, body=numberless, hash=chain_hash(NO_HASH, numberless))
    assert kind_of([row]) is FaultKind.EDIT


def test_the_hashes_are_sha_256_over_prefix_and_bytes():
    body = b'{"a":1}'
    assert chain_hash(NO_HASH, body) == hashlib.sha256(b"audit-v1\x00" + bytes(32) + body).digest()
    assert signature_hash({"a": 1}) == hashlib.sha256(b"sig-v1\x00" + body).digest()
    assert len({chain_hash(NO_HASH, body), signature_hash({"a": 1}), record_hash({"a": 1})}) == 3
    with pytest.raises(ValueError, match="32 bytes"):
        chain_hash(b"short", body)


TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
KEYS = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
VALUES = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@given(VALUES)
def test_canonical_bytes_read_back_give_the_same_bytes(value):
    body = canonical_bytes(value)
    assert canonical_bytes(parse_canonical(body)) == body
    assert json.loads(body) == json.loads(canonical_bytes(json.loads(body)))


@given(st.dictionaries(KEYS, TEXT, max_size=6))
def test_neither_order_nor_unicode_form_changes_the_bytes(record):
    turned = {key: unicodedata.normalize("NFD", text) for key, text in reversed(list(record.items()))}
    assert canonical_bytes(turned) == canonical_bytes(record)


@pytest.mark.parametrize(
    "value",
    [1.0, float("nan"), 2**53, -(2**53), {"Name": 1}, {"é": 1}, {"": 1}, {1: 1}, "\ud800", b"bytes", {"a": [1.5]}],
)
def test_what_has_no_canonical_form_is_refused(value):
    with pytest.raises(ValueError, match="value"):
        canonical_bytes(value)


@pytest.mark.parametrize(
    "body",
    [b'{"a":1,"a":1}', b"{ }", b"NaN", b"1.0", b'{"b":1,"a":2}', b"\xff", b'"\\u00e9"', b"", b"[" * 100_000],
)
def test_bytes_that_are_not_canonical_are_not_read(body):
    with pytest.raises(ValueError, match=r"canonical|float|key"):
        parse_canonical(body)


def test_a_clock_that_went_back_is_named_by_its_rows():
    assert clock_steps([(1, "2026-01-01"), (2, "2026-01-03"), (3, "2026-01-02"), (4, "2026-01-02")]) == [3]
