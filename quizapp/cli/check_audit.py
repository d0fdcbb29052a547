"""Checks an exported audit trail without the program that wrote it: python3 check_audit.py EXPORT [--anchors FILE].

Needs Python 3.9 and nothing else. Prints the first bad line and exits 1, 0 when the trail is whole, 2 when a file
cannot be read. Without anchors that you kept yourself, a trail that was cut off or written anew cannot be told.
"""

from __future__ import annotations

import hashlib
import json
import sys
from typing import Any

PREFIX = b"audit-v1\0"
NO_HASH = "00" * 32
FIELDS = {"body", "hash", "prev", "seq"}


class Fault(Exception):
    """The trail is not what was written: the kind, the row number, and why."""


def canonical(value: object) -> str:
    """Give the one text of a JSON value: keys sorted, no spaces."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def read_line(line: bytes, seq: int) -> dict[str, Any]:
    """Read one line that must be written in exactly one way."""
    try:
        fields = json.loads(line.decode("utf-8"))
        exact = canonical(fields).encode("utf-8") == line
    except (ValueError, RecursionError):
        exact = False
    if not exact or not isinstance(fields, dict):
        raise Fault("edit", seq, "the line cannot be read or is not written the way it was exported")
    return fields


def number_in(row: dict[str, Any], seq: int) -> int:
    """Give the number inside an untouched row; it must fit its hash."""
    try:
        body = row["body"].encode("utf-8")
        digest = hashlib.sha256(PREFIX + bytes.fromhex(row["prev"]) + body).hexdigest()
        said = json.loads(body)
        number = said["seq"]
        fits = digest == row["hash"] and canonical(said).encode("utf-8") == body and set(row) == FIELDS
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError):
        fits = False
    if not fits or not isinstance(number, int):
        raise Fault("edit", seq, "its hash does not fit what it says")
    return number


def follow(lines: list[bytes], seq: int, prev: str) -> str:
    """Give the hash of the row in place `seq`, or raise Fault when it does not follow from the one before."""
    row = read_line(lines[seq - 1], seq)
    number = number_in(row, seq)
    if number != seq:
        later = any(f'\\"seq\\":{seq}}}'.encode() in line for line in lines[seq:])
        kind = "duplicate" if number < seq else "order" if later else "gap"
        raise Fault(kind, seq, f"row {number} stands there")
    if row["seq"] != seq or row["prev"] != prev:
        raise Fault("edit", seq, "what stands there does not follow from the row before it")
    return str(row["hash"])


def check(export: bytes, anchors: dict[int, set[str]]) -> tuple[int, str]:
    """Return number and hash of the last row, or raise Fault at the first that does not follow from the one before."""
    *lines, last = export.removesuffix(b"\n").split(b"\n")
    prev, end = NO_HASH, len(lines)
    for seq in range(1, end + 1):
        prev = follow(lines, seq, prev)
        if seq in anchors and anchors[seq] != {prev}:
            raise Fault("anchor mismatch", seq, "an anchor kept elsewhere holds another hash; it was written anew")
    later = [seq for seq in anchors if seq > end]
    if later:
        raise Fault("truncated", end + 1, f"nothing stands there, but an anchor was taken at row {max(later)}")
    head_fits = export.endswith(b"\n") and read_line(last, end + 1) == {"head": {"hash": prev, "seq": end}}
    if not head_fits:
        raise Fault("truncated", end + 1, "the file does not end with the head of the trail")
    return end, prev


def read_anchors(text: str) -> dict[int, set[str]]:
    """Read lines of JSON with seq and hash; their seals can be tried only by the service that made them."""
    anchors: dict[int, set[str]] = {}
    for line in text.splitlines():
        if line.strip():
            fields = json.loads(line)
            anchors.setdefault(fields["seq"], set()).add(fields["hash"])
    return anchors


def main(arguments: list[str]) -> int:
    """Check one export and print what was found."""
    try:
        if len(arguments) not in (1, 3) or (len(arguments) == 3 and arguments[1] != "--anchors"):
            raise ValueError("usage: check_audit.py EXPORT [--anchors FILE]")
        with open(arguments[0], "rb") as file:  # noqa: PTH123 - nothing beyond the plainest Python here
            export = file.read()
        anchors = {}
        if len(arguments) == 3:
            with open(arguments[2], encoding="utf-8") as file:  # noqa: PTH123
                anchors = read_anchors(file.read())
    except (OSError, ValueError, KeyError, TypeError) as fault:
        print(f"Cannot be read: {fault}")
        return 2
    try:
        rows, head = check(export, anchors)
    except Fault as fault:
        kind, seq, why = fault.args
        print(f"First bad row: {seq}, {kind}. In that place: {why}.")
        return 1
    print(f"The trail is whole: {rows} rows, head {head[:16]}.{f' {len(anchors)} anchors fit.' if anchors else ''}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
