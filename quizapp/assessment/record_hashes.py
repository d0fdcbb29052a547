"""The hash of one stored record: all its fields as they stand, salted, so that a hash alone gives nothing away.

Fields without a value are left out, so a column added later, empty, changes no hash.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import TypeAlias

FieldValue: TypeAlias = str | int | bool | None

ROW_PREFIX = b"row-v1\0"
SALT_BYTES = 16


def row_hash(table: str, fields: Mapping[str, FieldValue], *, salt: bytes) -> bytes:
    """Give the hash of a stored record.

    `fields` are text, whole numbers, true or false by column name; `salt` is 16 bytes of chance, new at each change.
    Raises ValueError for a salt of another length, TypeError for any other kind of value.
    """
    if len(salt) != SALT_BYTES:
        raise ValueError(f"a salt has {SALT_BYTES} bytes, not {len(salt)}")
    for name, value in fields.items():
        if value is not None and not isinstance(value, (str, int)):
            raise TypeError(f"{table}.{name}: {type(value).__name__} has no place in a record's hash")
    kept = {name: value for name, value in fields.items() if value is not None}
    # ASCII only: every code point counts as it stands, half surrogates and other forms of a letter included.
    body = json.dumps([table, kept], ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(ROW_PREFIX + salt + body.encode("ascii")).digest()
