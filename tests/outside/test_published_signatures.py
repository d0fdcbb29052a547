"""The signature check that goes with evidence, against the test vectors of RFC 8032 and against another library."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st

from quizapp.services.check_evidence import ORDER, signature_fits

# RFC 8032, section 7.1: TEST 1, TEST 2, TEST 3 (public key, message, signature).
VECTORS = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe"
        "24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302a"
        "eeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed2"
        "8dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("public", "message", "signature"), VECTORS)
def test_the_published_signatures_fit(public: str, message: str, signature: str) -> None:
    key, text, signed = bytes.fromhex(public), bytes.fromhex(message), bytes.fromhex(signature)
    assert signature_fits(key, text, signed)
    assert not signature_fits(key, text + b"!", signed)
    for place in (0, 31, 32, 63):
        changed = bytearray(signed)
        changed[place] ^= 1
        assert not signature_fits(key, text, bytes(changed))


@settings(max_examples=25)
@given(st.binary(min_size=32, max_size=32), st.binary(max_size=300))
def test_it_agrees_with_another_library(seed: bytes, message: bytes) -> None:
    key = Ed25519PrivateKey.from_private_bytes(seed)
    public, signed = key.public_key().public_bytes_raw(), key.sign(message)
    assert signature_fits(public, message, signed)
    # RFC 8032, section 5.1.7: a scalar that is not below the order is refused, though it would fit.
    beyond = int.from_bytes(signed[32:], "little") + ORDER
    assert not signature_fits(public, message, signed[:32] + beyond.to_bytes(32, "little"))
