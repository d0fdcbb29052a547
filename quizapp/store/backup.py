"""Copies a SQLite database while it is in use, and checks a database file from end to end without the models.

A plain copy of the file is no backup: what was committed last stands in a second file beside it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from quizapp.assessment.audit_chain import BEFORE_THE_FIRST, AuditRow, ChainHead, verify_chain
from quizapp.errors import Conflict


@dataclass(frozen=True, kw_only=True)
class FileState:
    """What a sound database file holds: its schema, rows per table, the audit head and the time of its last act."""

    revision: str
    counts: Mapping[str, int]
    head: ChainHead
    last_at: str


def state_of(path: Path) -> FileState:
    """Check a file (pages, references, audit chain and head) and say what it holds.

    Raises Conflict with what is wrong; nothing is ever changed.
    """
    if not path.is_file():
        raise Conflict(f"There is no file {path}.")
    try:
        with closing(open_to_read(path)) as connection:
            return _checked(connection)
    except sqlite3.Error as fault:
        raise Conflict(f"{path} is no sound database: {fault}.") from None
    except Conflict as fault:
        raise Conflict(f"{path} is no sound database: {fault}") from None


def open_to_read(path: Path) -> sqlite3.Connection:
    """Open a database file so that it cannot be changed or made."""
    connection = sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True, isolation_level=None)
    connection.execute("PRAGMA cell_size_check=ON")
    return connection


def _checked(connection: sqlite3.Connection) -> FileState:
    found = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
    if found != ["ok"]:
        raise Conflict(f"{found[0]}.")
    if broken := connection.execute("PRAGMA foreign_key_check").fetchone():
        raise Conflict(f"a row of {broken[0]} refers to one of {broken[2]} that is not there.")
    counts = _counts(connection)
    head, last_at = _chain(connection) if "audit" in counts else (BEFORE_THE_FIRST, "")
    return FileState(revision=_revision(connection, counts), counts=counts, head=head, last_at=last_at)


def _counts(connection: sqlite3.Connection) -> dict[str, int]:
    tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    counted = {}
    for (name,) in sorted(tables.fetchall()):
        quoted = name.replace('"', '""')
        counted[name] = int(connection.execute(f'SELECT count(*) FROM "{quoted}"').fetchone()[0])  # noqa: S608
    return counted


def _revision(connection: sqlite3.Connection, counts: Mapping[str, int]) -> str:
    if not counts.get("alembic_version"):
        raise Conflict("it has no schema of this program.")
    return str(connection.execute("SELECT version_num FROM alembic_version").fetchone()[0])


def _chain(connection: sqlite3.Connection) -> tuple[ChainHead, str]:
    head, last_at = BEFORE_THE_FIRST, ""

    def rows() -> Iterator[AuditRow]:
        nonlocal head, last_at
        for seq, prev, body, digest, at in connection.execute(
            "SELECT seq, prev, body, hash, at FROM audit ORDER BY seq"
        ):
            head, last_at = ChainHead(seq=seq, hash=digest), at
            yield AuditRow(seq=seq, prev=prev, body=body, hash=digest)

    fault = verify_chain(rows())
    if fault is not None:
        raise Conflict(f"its audit trail has a fault ({fault.kind.value}). {fault.message}")
    kept = connection.execute("SELECT seq, hash FROM audit_head").fetchone() or (0, BEFORE_THE_FIRST.hash)
    if ChainHead(seq=kept[0], hash=kept[1]) != head:
        raise Conflict(f"its audit trail ends at row {head.seq}, but the head beside it names row {kept[0]}.")
    return head, last_at


def back_up(source: Path, target: Path) -> FileState:
    """Copy a database as it stands at one moment into one new file, check the copy, and say what it holds.

    Raises Conflict, leaving nothing at `target`, when it is there already or the copy is not sound and complete.
    """
    if target.exists():
        raise Conflict(f"{target} is there already. Nothing was written. Name a new file.")
    if not source.is_file():
        raise Conflict(f"There is no database {source}. Nothing was written.")
    part = target.with_name(f"{target.name}.part")
    try:
        counts = _copy(source, part)
        state = state_of(part)
        if state.counts != counts:
            raise Conflict("The copy has not as many rows as the database. Nothing was kept of it.")
        part.rename(target)
        _sync(target.parent)
    except (sqlite3.Error, OSError) as fault:
        raise Conflict(f"{target} could not be written: {fault}. Nothing was kept of it.") from None
    finally:
        part.unlink(missing_ok=True)
    return state


def _copy(source: Path, part: Path) -> dict[str, int]:
    part.unlink(missing_ok=True)
    part.touch(mode=0o600)
    with closing(open_to_read(source)) as origin, closing(sqlite3.connect(part, isolation_level=None)) as copy:
        origin.execute("BEGIN")
        counts = _counts(origin)
        origin.backup(copy)
        origin.rollback()
        # One file that needs no other, without what was erased from it.
        copy.execute("PRAGMA journal_mode=DELETE")
        copy.execute("VACUUM")
    _sync(part)
    return counts


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def take_out_of_use(path: Path) -> None:
    """Bring everything committed into the one file; raise Conflict when another program has the database open."""
    try:
        with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.OperationalError as fault:
        raise Conflict(
            f"Another program has {path} open ({fault}). Nothing was changed. Stop the service, then try again."
        ) from None


def put_in_place(prepared: Path, path: Path, aside: Path) -> None:
    """Keep the database at `path`, with what stands beside it, as `aside` and put the prepared file in its place.

    At no moment is there no database at `path`.
    """
    if path.exists():
        os.link(path, aside)
    for ending in ("-wal", "-shm", "-journal"):
        beside = path.with_name(path.name + ending)
        if beside.exists():
            beside.rename(aside.with_name(aside.name + ending))
    prepared.replace(path)
    _sync(path.parent)


def last_common_row(one: Path, other: Path) -> int:
    """Return the number of the last row that the audit chains of two files have in common, 0 for none."""
    with closing(open_to_read(one)) as first, closing(open_to_read(other)) as second:
        return _bisect(lambda seq: _hash_at(first, seq) == _hash_at(second, seq) is not None, _last(first))


def _bisect(is_common: Callable[[int], bool], last: int) -> int:
    """Find the end of the common beginning: two chains that agree on a row agree on all before it."""
    common, different = 0, last + 1
    while different - common > 1:
        middle = (common + different) // 2
        common, different = (middle, different) if is_common(middle) else (common, middle)
    return common


def _last(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT coalesce(max(seq), 0) FROM audit").fetchone()[0])


def _hash_at(connection: sqlite3.Connection, seq: int) -> bytes | None:
    row = connection.execute("SELECT hash FROM audit WHERE seq = ?", (seq,)).fetchone()
    return row[0] if row else None


def acts_after(path: Path, seq: int) -> tuple[dict[str, int], str]:
    """Return how many acts of each kind a file holds after a row, and the time of that row ("" for none)."""
    with closing(open_to_read(path)) as connection:
        counted = connection.execute(
            "SELECT event, count(*) FROM audit WHERE seq > ? GROUP BY event ORDER BY count(*) DESC, event", (seq,)
        )
        row = connection.execute("SELECT at FROM audit WHERE seq = ?", (seq,)).fetchone()
        return {str(event): int(count) for event, count in counted}, str(row[0]) if row else ""
