"""Anchors: the head of the audit chain at some time, to be kept elsewhere, sealed with a key made from the secret.

The seal (HMAC, RFC 2104, with SHA-256) shows this service that it wrote the line. It proves nothing to outsiders,
since whoever has the secret can make one; what convinces them is a line they received and kept themselves.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping
from dataclasses import dataclass

from quizapp.assessment.audit_chain import ChainHead, canonical_bytes, parse_canonical

KEY_PURPOSE = b"audit-anchor-v1"
KEY_ID_DIGITS = 16


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """A head with the chain's name, the time it was taken (UTC text), and the seal under a named key (hex)."""

    chain: str
    head: ChainHead
    at: str
    key_id: str
    seal: str


def make_anchor(secret: str, *, chain: str, head: ChainHead, at: str) -> Anchor:
    """Seal a head; `at` is UTC as YYYY-MM-DDTHH:MM:SS.ffffffZ."""
    key_id = key_id_of(secret)
    seal = _seal(_key(secret), _said(chain, head, at, key_id))
    return Anchor(chain=chain, head=head, at=at, key_id=key_id, seal=seal)


def key_id_of(secret: str) -> str:
    """Return the name under which anchors say which secret sealed them: 16 hex digits that do not give it away."""
    return hashlib.sha256(_key(secret)).hexdigest()[:KEY_ID_DIGITS]


def is_genuine(secret: str, anchor: Anchor) -> bool:
    """Whether the service with this secret sealed the anchor."""
    said = _said(anchor.chain, anchor.head, anchor.at, anchor.key_id)
    return hmac.compare_digest(_seal(_key(secret), said), anchor.seal)


def anchor_line(anchor: Anchor) -> str:
    """Write an anchor as one line of canonical JSON, without the line's end."""
    said = _said(anchor.chain, anchor.head, anchor.at, anchor.key_id)
    return canonical_bytes({**said, "seal": anchor.seal}).decode("utf-8")


def read_anchor(line: str) -> Anchor:
    """Read a line; raise ValueError when it is not exactly what `anchor_line` writes."""
    fields = parse_canonical(line.encode("utf-8", "surrogatepass"))
    if not isinstance(fields, Mapping) or set(fields) != {"at", "chain", "hash", "key_id", "seal", "seq"}:
        raise ValueError("an anchor has at, chain, hash, key_id, seal and seq")
    seq, texts = fields["seq"], {name: value for name, value in fields.items() if name != "seq"}
    if not isinstance(seq, int) or isinstance(seq, bool) or seq < 1:
        raise ValueError("seq is a whole number from 1")
    if not all(isinstance(value, str) for value in texts.values()):
        raise ValueError("all but seq are texts")
    anchor = Anchor(
        chain=str(texts["chain"]),
        head=ChainHead(seq=seq, hash=bytes.fromhex(str(texts["hash"]))),
        at=str(texts["at"]),
        key_id=str(texts["key_id"]),
        seal=str(texts["seal"]),
    )
    if anchor_line(anchor) != line:
        raise ValueError("hash is 64 lower-case hex digits")
    return anchor


def _said(chain: str, head: ChainHead, at: str, key_id: str) -> dict[str, str | int]:
    return {"chain": chain, "seq": head.seq, "hash": head.hash.hex(), "at": at, "key_id": key_id}


def _key(secret: str) -> bytes:
    return hmac.digest(secret.encode("utf-8"), KEY_PURPOSE, "sha256")


def _seal(key: bytes, said: Mapping[str, str | int]) -> str:
    return hmac.digest(key, canonical_bytes(dict(said)), "sha256").hex()
