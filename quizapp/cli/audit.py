"""`quizapp audit`: check the audit trail, take it out with a checker of its own, anchor it, tell a person's acts."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from quizapp.assessment.audit_anchors import Anchor, anchor_line, read_anchor
from quizapp.assessment.audit_chain import ChainFault
from quizapp.cli import check_audit
from quizapp.cli.opened import database_to_read, opened_database, settings_of_commands
from quizapp.errors import BadInput, QuizappError
from quizapp.services.export_audit import acts_of, export_lines, note_export, note_look, take_anchor
from quizapp.services.verify_audit import ChainReport, verify_stored_chain
from quizapp.services.verify_records import verify_records, verify_signatures
from quizapp.services.verify_signature import signature_by_receipt, verify_signature

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

CANNOT_READ = 2
SHOWN = 20
WHAT_A_SEAL_PROVES = (
    "The seal (HMAC) lets this service recognise its own line. It proves nothing to outsiders: whoever has the secret "
    "can make one. What counts for them is a line they received earlier and kept. Keep this one on another machine."
)


def add_to(commands: Commands) -> None:
    """Add `audit verify`, `audit export`, `audit anchor` and `audit show`."""
    audit = commands.add_parser("audit", help="check the audit trail, take it out, anchor it")
    actions = audit.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    verify = actions.add_parser("verify", help="0 whole, 1 tampered with, 2 cannot be read")
    verify.add_argument("--from", dest="first", type=_row_number, default=1, metavar="SEQ", help="begin at this row")
    verify.add_argument("--anchors", type=Path, help="file of anchors kept elsewhere, one a line")
    verify.add_argument("--records", action="store_true", help="compare every record with its hash on the trail")
    verify.add_argument("--receipt", metavar="RECEIPT", help="verify one signature only, step by step")
    verify.add_argument("--json", action="store_true", help="print one JSON object")
    verify.set_defaults(run=run_verify)
    export = actions.add_parser("export", help="write the trail as JSON lines, with check_audit.py beside it")
    export.add_argument("file", type=Path, help="a file that is not there yet")
    export.set_defaults(run=run_export)
    anchor = actions.add_parser("anchor", help="print the sealed head of the trail, to be kept elsewhere")
    anchor.add_argument("--append", type=Path, metavar="FILE", help="add the line to this file as well")
    anchor.set_defaults(run=run_anchor)
    show = actions.add_parser("show", help="tell every act by or about a person")
    show.add_argument("--person", required=True, metavar="STAFF_NUMBER", help="whose acts")
    show.set_defaults(run=run_show)


def _row_number(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 15 or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no row number from 1 up")
    return int(text)


def run_verify(chosen: argparse.Namespace) -> int:
    """Check the chain, its head, the signatures, and with --records every record; or one signature by its receipt."""
    if chosen.receipt:
        return _verify_one(chosen.receipt)
    try:
        if chosen.records and chosen.first > 1:
            raise BadInput("--records needs the trail from its beginning; leave --from out.")
        anchors = _read_anchors(chosen.anchors) if chosen.anchors else []
        secret = settings_of_commands().secret if anchors else ""
        with database_to_read() as database, database.reading() as session:
            chain = verify_stored_chain(session, first=chosen.first, anchors=anchors, secret=secret)
            signatures, faults = verify_signatures(session, chain.seals)
            records, differing = verify_records(session, chain.seals) if chosen.records else (None, [])
    except QuizappError as fault:
        print(json.dumps({"cannot_read": str(fault)}) if chosen.json else f"Cannot be read: {fault}")
        return CANNOT_READ
    found = sorted([*chain.faults, *faults, *differing], key=lambda one: one.seq)
    if chosen.json:
        print(_as_json(chain, found, records=records, signatures=signatures))
    else:
        _say(chain, found, records=records, signatures=signatures)
    return 1 if found else 0


def _verify_one(receipt: str) -> int:
    try:
        with database_to_read() as database, database.reading() as session:
            found = verify_signature(session, signature_by_receipt(session, receipt))
    except QuizappError as fault:
        print(f"Cannot be read: {fault}")
        return CANNOT_READ
    one = found.signature
    print(f"{one.printed_name}, {one.staff_number}, as {one.role.replace('_', ' ')}: {one.meaning}, {one.local_time} "
          f"({one.zone}).")  # fmt: skip
    for step in found.steps:
        print(f"{'fits' if step.fits else 'DOES NOT FIT'}: {step.about.lower()}: {step.found}.")
    return 0 if found.is_whole else 1


def _read_anchors(path: Path) -> list[Anchor]:
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput(f"{path}: {getattr(fault, 'strerror', None) or 'no UTF-8 text'}.") from None
    anchors = []
    for number, line in enumerate(lines, start=1):
        if line.strip():
            try:
                anchors.append(read_anchor(line.strip()))
            except ValueError as fault:
                raise BadInput(f"{path}:{number}: this is no anchor as the program writes it: {fault}.") from None
    return anchors


def _as_json(chain: ChainReport, found: Sequence[ChainFault], *, records: int | None, signatures: int) -> str:
    faults = [{"seq": one.seq, "kind": one.kind.value, "message": one.message} for one in found]
    return json.dumps(
        {
            "whole": not found, "rows": chain.rows, "head_seq": chain.head.seq, "head_hash": chain.head.hash.hex(),
            "last_good_anchor": chain.good_anchor or None, "records": records, "signatures": signatures,
            "faults": faults, "notes": list(chain.notes),
        }
    )  # fmt: skip


def _say(chain: ChainReport, found: Sequence[ChainFault], *, records: int | None, signatures: int) -> None:
    compared = "" if records is None else f" {records} records compared."
    if found:
        first = found[0]
        place = f"First bad row: {first.seq}" if first.seq else "Fault of no single row"
        print(f"{place}, {first.kind.value.replace('_', ' ')}. {first.message}")
        for other in found[1:SHOWN]:
            print(f"  {other.kind.value.replace('_', ' ')}: {other.message}")
        if len(found) > SHOWN:
            print(f"  and {len(found) - SHOWN} more; --json lists them all.")
    else:
        print(f"The audit trail is whole: {chain.rows} rows, the last is row {chain.head.seq}, head "
              f"{chain.head.hash.hex()[:16]}. {signatures} signatures fit.{compared}")  # fmt: skip
    if chain.good_anchor:
        print(f"Last anchor that fits: row {chain.good_anchor}.")
    for note in chain.notes[:3]:
        print(f"Note: {note}")
    if len(chain.notes) > 3:
        print(f"Note: {len(chain.notes) - 3} more notes; --json lists them all.")


def run_export(chosen: argparse.Namespace) -> int:
    """Write the trail and its checker."""
    if chosen.file.exists():
        raise BadInput(f"{chosen.file} is there already. Nothing was written. Name a new file.")
    with opened_database() as database:
        with database.writing() as session:
            note_export(session, datetime.now(UTC))
        with database.reading() as session:
            rows = _write_lines(chosen.file, export_lines(session)) - 1
    checker = chosen.file.with_name("check_audit.py")
    if not checker.exists():
        shutil.copyfile(Path(check_audit.__file__), checker)
    print(f"{rows} rows written to {chosen.file}. Anybody checks them with: python3 {checker} {chosen.file}")
    return 0


def _write_lines(path: Path, lines: Iterable[str]) -> int:
    count = 0
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            path.chmod(0o600)
            for line in lines:
                file.write(f"{line}\n")
                count += 1
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        path.unlink(missing_ok=True)
        raise BadInput(f"{path} cannot be written: {fault.strerror}. Nothing was kept of it.") from None
    return count


def run_anchor(chosen: argparse.Namespace) -> int:
    """Print one sealed line, and add it to a file if asked."""
    secret = settings_of_commands().secret
    with opened_database() as database, database.writing() as session:
        line = anchor_line(take_anchor(session, datetime.now(UTC), secret=secret))
        if chosen.append:
            _append(chosen.append, line)
    print(line)
    print(WHAT_A_SEAL_PROVES, file=sys.stderr)
    return 0


def _append(path: Path, line: str) -> None:
    try:
        with path.open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise BadInput(f"{path} cannot be written: {fault.strerror}. No anchor was taken.") from None


def run_show(chosen: argparse.Namespace) -> int:
    """Print one sentence an act, oldest first; the look itself is an act."""
    with opened_database() as database:
        with database.reading() as session:
            told = acts_of(session, staff_number=chosen.person)
        with database.writing() as session:
            note_look(session, datetime.now(UTC), staff_number=chosen.person)
    for one in told:
        print(f"{one.seq:>7}  {one.at:%Y-%m-%d %H:%M:%S} UTC  {one.said}")
    print(f"{len(told)} acts by or about {chosen.person}; looking at them was noted.", file=sys.stderr)
    return 0
