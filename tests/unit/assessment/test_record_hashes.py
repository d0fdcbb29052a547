"""The salted hash of a record: any other value, table or salt gives another hash."""

from __future__ import annotations

import hashlib
import random

import pytest

from quizapp.assessment.record_hashes import row_hash

SALT = bytes(range(16))
FIELDS = {"id": "a1", "name": "Å Quill", "revision": 3, "is_late": False, "left_on": None}
KNOWN = row_hash("person", FIELDS, salt=SALT)


def test_the_hash_is_sha_256_over_prefix_salt_and_ascii_json() -> None:
    body = b'["person",{"id":"a1","is_late":false,"name":"\\u00c5 Quill","revision":3}]'
    assert hashlib.sha256(b"row-v1\x00" + SALT + body).digest() == KNOWN


def test_an_empty_field_and_the_order_of_fields_change_nothing() -> None:
    fields = {name: FIELDS[name] for name in reversed(FIELDS) if name != "left_on"}
    assert row_hash("person", fields, salt=SALT) == KNOWN


@pytest.mark.parametrize(
    ("table", "change", "salt"),
    [
        ("base", {}, SALT),
        ("person", {}, bytes(16)),
        ("person", {"name": "A\u030a Quill"}, SALT),
        ("person", {"revision": "3"}, SALT),
        ("person", {"is_late": 0}, SALT),
        ("person", {"left_on": ""}, SALT),
    ],
)
def test_any_other_table_value_kind_or_salt_gives_another_hash(table: str, change: dict, salt: bytes) -> None:
    assert row_hash(table, {**FIELDS, **change}, salt=salt) != KNOWN


def test_ten_thousand_single_byte_edits_of_a_record_are_all_found() -> None:
    chance = random.Random(20260302)
    fields = {"id": "c" * 32, "response": '{"order":[],"texts":["12,5"],"units":["L/min"]}', "receipt": "9f0c" * 4}
    sound = row_hash("answer", fields, salt=SALT)
    for _turn in range(10_000):
        name = chance.choice(list(fields))
        stored = bytearray(fields[name].encode())
        stored[chance.randrange(len(stored))] ^= chance.randrange(1, 128)
        assert row_hash("answer", {**fields, name: stored.decode("latin-1")}, salt=SALT) != sound


def test_a_wrong_salt_or_a_kind_without_a_place_is_refused() -> None:
    with pytest.raises(ValueError, match="16 bytes"):
        row_hash("person", FIELDS, salt=b"short")
    with pytest.raises(TypeError, match=r"person\.weight: float"):
        row_hash("person", {"weight": 1.5}, salt=SALT)  # type: ignore[dict-item]
