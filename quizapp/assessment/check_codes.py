"""Check codes that people read out and copy: eleven letters and digits by chance, one that shows a slip of the pen.

The last one is that of ISO/IEC 7064, MOD 37,36: it shows every single wrong character and nearly every exchange of two
neighbours. Letters that look like digits are not used; where they are written, the digit is meant.
"""

from __future__ import annotations

import hashlib
from itertools import count

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
CLEAR = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Without I, L, O (they look like 1 and 0) and U (it looks like V)."""
MEANT = str.maketrans("ILO", "110")
DRAWN = 11
LENGTH = DRAWN + 1
GROUP = 4
BETWEEN = " -–—.\t\u00a0"


def check_character(text: str) -> str:
    """Return the check character of a text of capital letters and digits. Source: ISO/IEC 7064, MOD 37,36.

    Raises ValueError for any other character.
    """
    size = len(ALPHABET)
    rest = size
    for character in text:
        rest = ((rest + ALPHABET.index(character)) % size or size) * 2 % (size + 1)
    return ALPHABET[(1 - rest) % size]


def is_whole(text: str) -> bool:
    """Whether the last character is the check character of those before it."""
    return check_character(text[:-1]) == text[-1]


def code_from(seed: str) -> str:
    """Return the code that a seed (text by chance, at least 128 bits) gives; its check character is a clear one too."""
    for turn in count():
        digest = int.from_bytes(hashlib.sha256(f"check code {turn} {seed}".encode()).digest(), "big")
        drawn = "".join(CLEAR[digest >> 5 * place & 31] for place in range(DRAWN))
        check = check_character(drawn)
        if check in CLEAR:
            return drawn + check
    raise AssertionError("unreachable")


def written(code: str) -> str:
    """Write a code in groups of four, as it is printed."""
    return "-".join(code[at : at + GROUP] for at in range(0, len(code), GROUP))


def read_code(text: str) -> str | None:
    """Read a code as somebody typed it, None where it cannot be one: too short, too long, or with a slip in it.

    Spaces, dashes and small letters do not matter.
    """
    if len(text) > 4 * LENGTH:
        return None
    plain = "".join(character for character in text if character not in BETWEEN).upper().translate(MEANT)
    fits = len(plain) == LENGTH and set(plain) <= set(CLEAR)
    return plain if fits and is_whole(plain) else None
