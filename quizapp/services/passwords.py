"""Password rules and hashes: argon2id with fixed costs, long pass-phrases welcome, common ones refused."""

from __future__ import annotations

import functools
import hashlib

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from quizapp.errors import BadInput

HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
SHORTEST = 15
LONGEST_BYTES = 256
COMMON_STEMS = (
    "password", "passwort", "qwerty", "asdfgh", "letmein", "welcome", "iloveyou", "admin", "ventilator", "oxygen",
    "rescue", "quizapp", "competency", "changeme", "secret", "123456", "abcdef", "monkey", "dragon", "football",
)  # fmt: skip


def hash_password(password: str) -> str:
    """Return the argon2id hash of a password that was checked before."""
    return HASHER.hash(password)


@functools.cache
def _decoy() -> str:
    return HASHER.hash("nobody has this pass-phrase, it only takes the same time")


def matches(stored_hash: str | None, password: str) -> bool:
    """Tell whether the password is right; takes the same time when there is no such account."""
    if len(password.encode("utf-8", "surrogatepass")) > LONGEST_BYTES:
        password = ""
    try:
        right = HASHER.verify(stored_hash or _decoy(), password)
    except (VerificationError, InvalidHashError, UnicodeEncodeError):
        return False
    return right and bool(stored_hash)


def check_new_password(password: str, *, own_words: tuple[str, ...] = ()) -> None:
    """Raise BadInput when a new password is too short, too long, or mostly a common or an own word."""
    if len(password) < SHORTEST:
        raise BadInput(f"Use at least {SHORTEST} characters: four or five ordinary words will do.", field="password")
    if len(password.encode("utf-8", "surrogatepass")) > LONGEST_BYTES:
        raise BadInput(f"Use at most {LONGEST_BYTES} bytes.", field="password")
    rest = password.casefold()
    for word in (*COMMON_STEMS, *(own.casefold() for own in own_words if len(own) > 2)):
        rest = rest.replace(word, "")
    if len(set(rest)) < 5 or len(rest.strip("0123456789 .-_!?")) < 6:
        raise BadInput("That is too easy to guess. Put together four or five words that have nothing in common.",
                       field="password")  # fmt: skip


def token_hash(token: str) -> str:
    """Return the hash under which a random token is kept."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
