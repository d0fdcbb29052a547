"""The signature under evidence that is taken away: Ed25519 (RFC 8032) with a key made from the service's secret."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from quizapp.services.check_evidence import canonical

KEY_PURPOSE = b"take-away-signature-v1"


def public_key(secret: str) -> str:
    """Return the public key that belongs to the secret, as 64 hex digits."""
    return _key(secret).public_key().public_bytes_raw().hex()


def signature_file(secret: str, files: Mapping[str, bytes], *, said: Mapping[str, str]) -> bytes:
    """Return the file that signs the others: their hashes, what is said of them, the public key, the signature."""
    signed = {
        **said,
        "public_key": public_key(secret),
        "files": {name: hashlib.sha256(content).hexdigest() for name, content in files.items()},
    }
    signature = _key(secret).sign(canonical(signed)).hex()
    return canonical({"signed": signed, "signature": signature}) + b"\n"


def _key(secret: str) -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(hmac.digest(secret.encode("utf-8"), KEY_PURPOSE, "sha256"))
