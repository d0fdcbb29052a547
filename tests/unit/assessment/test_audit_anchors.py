"""Anchors: one line each, read back exactly, recognised only under the secret that sealed them."""

from __future__ import annotations

import hashlib
import hmac
import json
import random

import pytest

from quizapp.assessment.audit_anchors import anchor_line, is_genuine, key_id_of, make_anchor, read_anchor
from quizapp.assessment.audit_chain import ChainHead

SECRET = "only for tests " * 3
HEAD = ChainHead(seq=41, hash=bytes(range(32)))
ANCHOR = make_anchor(SECRET, chain="service", head=HEAD, at="2026-03-02T09:00:00.000000Z")


def test_a_line_read_back_is_the_same_anchor() -> None:
    assert read_anchor(anchor_line(ANCHOR)) == ANCHOR
    assert is_genuine(SECRET, ANCHOR)


def test_the_seal_is_an_hmac_of_the_line_without_it() -> None:
    # RFC 2104 with SHA-256, worked out here by the standard library from the line as written.
    said = json.loads(anchor_line(ANCHOR))
    seal = said.pop("seal")
    text = json.dumps(said, sort_keys=True, separators=(",", ":")).encode()
    key = hmac.new(SECRET.encode(), b"audit-anchor-v1", hashlib.sha256).digest()
    assert seal == hmac.new(key, text, hashlib.sha256).hexdigest()
    assert said["key_id"] == hashlib.sha256(key).hexdigest()[:16] == key_id_of(SECRET)


def test_another_secret_does_not_recognise_it() -> None:
    assert not is_genuine("another secret " * 3, ANCHOR)


def test_no_single_byte_edit_of_a_line_passes() -> None:
    chance = random.Random(7)
    line = anchor_line(ANCHOR).encode()
    for _turn in range(2_000):
        edited = bytearray(line)
        edited[chance.randrange(len(line))] ^= chance.randrange(1, 128)
        try:
            anchor = read_anchor(edited.decode("latin-1"))
        except ValueError:
            continue
        assert not is_genuine(SECRET, anchor)


@pytest.mark.parametrize(
    "change",
    [{"seq": 0}, {"seq": True}, {"seq": "41"}, {"hash": "AB" * 32}, {"hash": "xy"}, {"at": 5}, {"more": "x"}],
)
def test_other_lines_are_refused(change: dict[str, object]) -> None:
    fields = {**json.loads(anchor_line(ANCHOR)), **change}
    with pytest.raises(ValueError, match=r"seq|texts|hex|canonical|anchor"):
        read_anchor(json.dumps(fields, sort_keys=True, separators=(",", ":")))
