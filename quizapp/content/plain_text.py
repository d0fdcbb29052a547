"""Turns the bytes of a content file into text, or says exactly which byte or character is refused."""

from __future__ import annotations

import re

MAX_BYTES = 64 * 1024

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_HIDDEN = re.compile(r"[\u00ad\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]")


class UnreadableTextError(ValueError):
    """The bytes are not acceptable text; `line` says where, counted from 1 (0: the whole file)."""

    def __init__(self, message: str, *, line: int = 0) -> None:
        super().__init__(message)
        self.line = line


def read_text(raw: bytes) -> str:
    """Return the text with LF line ends and without a leading byte order mark.

    Raises UnreadableTextError for more than 64 KiB, an empty file, another encoding than UTF-8, control characters and
    characters that are invisible or turn the writing direction (they can make a text read differently from what it is).
    """
    if len(raw) > MAX_BYTES:
        raise UnreadableTextError(f"is {len(raw)} bytes long; the largest allowed is {MAX_BYTES}")
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise UnreadableTextError("is UTF-16 from byte 0 on; save it as UTF-8")
    try:
        text = raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise UnreadableTextError(
            f"is not UTF-8: byte {error.start} is 0x{raw[error.start]:02x}; save it as UTF-8", line=line
        ) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise UnreadableTextError("is empty")
    _refuse(text, _CONTROL, "a control character")
    _refuse(text, _HIDDEN, "an invisible character or one that turns the writing direction")
    return text


def _refuse(text: str, pattern: re.Pattern[str], what: str) -> None:
    found = pattern.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise UnreadableTextError(f"holds {what}, U+{ord(found[0]):04X}; delete it", line=line)
