"""Takes a verified backup of the whole service and notes it on the audit trail."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import Conflict
from quizapp.services.audit_trail import CHAIN, SYSTEM, append
from quizapp.store.backup import FileState, back_up
from quizapp.store.database import Database, sqlite_file

BY_ITS_OWN_MEANS = (
    "This service runs on PostgreSQL, which has better means of its own. Nothing was written. Back it up with pg_dump "
    "for single copies, or with a base backup and archived WAL to come back to any moment; restore with pg_restore or "
    "by recovery. Afterwards run: quizapp audit verify --records"
)


@dataclass(frozen=True, kw_only=True)
class BackupTaken:
    """What a backup holds, and the SHA-256 of its file (hex)."""

    state: FileState
    sha256: str


def take_backup(database: Database, now: datetime, target: Path) -> BackupTaken:
    """Write a checked copy of the database to a new file.

    Raises Conflict on PostgreSQL, and when the copy cannot be written or is not sound; nothing is kept then.
    """
    taken = BackupTaken(state=back_up(file_of(database.url), target), sha256=sha256_of(target))
    with database.writing() as session:
        append(
            session, now, actor_id=SYSTEM, event=AuditEvent.BACKUP_TAKEN, object_type="chain", object_id=CHAIN,
            details={"thing": f"up to row {taken.state.head.seq}", "sha256": taken.sha256},
        )  # fmt: skip
    return taken


def file_of(url: str) -> Path:
    """Return the file of the service's database; raise Conflict with what to use instead where there is none."""
    path = sqlite_file(url)
    if path is None:
        raise Conflict(BY_ITS_OWN_MEANS)
    return path


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file in hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
