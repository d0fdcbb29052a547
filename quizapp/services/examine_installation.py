"""Looks over a running installation and says, a sentence for each thing, what is well and what is not."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import NotFound
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.store.audit import AuditRow
from quizapp.store.database import POSTGRES_SETTINGS, SQLITE_PRAGMAS, Database, sqlite_file
from quizapp.store.schema import newest_revision, stored_revision

LEAST_FREE_BYTES = 1024**3
LEAST_FREE_FRACTION = 0.10
CLOCK_MAY_LAG = timedelta(seconds=2)
ROWS_LOOKED_AT = 1_000
BACKUP_MAY_BE_OLD = timedelta(hours=25)
PRAGMA_READS = {"WAL": "wal", "FULL": "2", "ON": "1", "OFF": "0"}
POSTGRES_READS = {"timezone": "UTC"}
POSTGRES_SERVER = {"fsync": "on", "full_page_writes": "on", "data_checksums": "on"}


@dataclass(frozen=True, kw_only=True)
class Found:
    """One thing looked at: whether it is well, and the sentence that says so."""

    is_well: bool
    said: str


def examine_database(database: Database, now: datetime) -> Iterator[Found]:
    """Look at schema, settings of a connection, pages, the newest part of the audit trail, clock and backups."""
    stored, newest = stored_revision(database), newest_revision()
    if stored != newest:
        yield Found(is_well=False, said=f"The database has the schema {stored or 'none'}, not {newest}. "
                    "Run: quizapp migrate")  # fmt: skip
        return
    yield Found(is_well=True, said=f"The database has the newest schema, {newest}.")
    with database.reading() as session:
        yield _settings(session, database)
        if database.is_sqlite:
            yield _pages(session)
        yield _newest_rows(session)
        yield _clock(session, now)
        if database.is_sqlite:
            yield _backup_age(session, now)


def _settings(session: Session, database: Database) -> Found:
    if database.is_sqlite:
        wanted = {name: PRAGMA_READS.get(value, value) for name, value in SQLITE_PRAGMAS.items()}
        read = {name: str(session.scalar(text(f"PRAGMA {name}"))) for name in wanted}
    else:
        wanted = {**POSTGRES_SETTINGS, **POSTGRES_SERVER}
        read = {name: str(session.scalar(text(f"SHOW {name}"))) for name in wanted}
    wrong = [f"{name} is {read[name]}, not {value}" for name, value in wanted.items() if read[name] != value]
    if wrong:
        return Found(is_well=False, said=f"Settings of the database are not as they must be: {'; '.join(wrong)}.")
    return Found(is_well=True, said=f"The {len(wanted)} settings of a connection are as they must be.")


def _pages(session: Session) -> Found:
    found = str(session.scalar(text("PRAGMA quick_check(1)")))
    if found != "ok":
        return Found(is_well=False, said=f"The database file is damaged ({found}). Stop the service and restore a "
                     "backup; docs/operations.md says how.")  # fmt: skip
    return Found(is_well=True, said="The pages of the database file fit together.")


def _newest_rows(session: Session) -> Found:
    last = session.scalar(select(func.max(AuditRow.seq))) or 0
    first = max(1, last - ROWS_LOOKED_AT + 1)
    try:
        report = verify_stored_chain(session, first=first)
    except NotFound as fault:
        return Found(is_well=False, said=f"The audit trail has a hole: {fault}")
    if report.faults:
        return Found(is_well=False, said=f"The audit trail has a fault: {report.faults[0].message} "
                     "Run: quizapp audit verify --records")  # fmt: skip
    return Found(is_well=True, said=f"The newest {report.rows} rows of the audit trail and its head, row {last}, fit.")


def _clock(session: Session, now: datetime) -> Found:
    newest = session.scalar(select(AuditRow.at).order_by(AuditRow.seq.desc()).limit(1))
    if newest is not None and now < newest - CLOCK_MAY_LAG:
        return Found(is_well=False, said=f"The clock went back: it says {now:%Y-%m-%d %H:%M:%S} UTC, the last act was "
                     f"at {newest:%Y-%m-%d %H:%M:%S} UTC. Set it right before anybody works on.")  # fmt: skip
    return Found(is_well=True, said="The clock is not behind the last act.")


def _backup_age(session: Session, now: datetime) -> Found:
    taken = AuditRow.event == AuditEvent.BACKUP_TAKEN.value
    newest = session.scalar(select(AuditRow.at).where(taken).order_by(AuditRow.seq.desc()).limit(1))
    if newest is None:
        return Found(is_well=False, said="No backup was taken yet. Run: quizapp backup FOLDER")
    if now - newest > BACKUP_MAY_BE_OLD:
        return Found(is_well=False, said=f"The last backup was taken at {newest:%Y-%m-%d %H:%M} UTC, more than a day "
                     "ago. Look at the timer.")  # fmt: skip
    return Found(is_well=True, said=f"The last backup was taken at {newest:%Y-%m-%d %H:%M} UTC.")


def examine_space(database_url: str, folder: Path) -> Iterator[Found]:
    """Look at the space left where the database file and the data are; less than 1 GiB or 10 % is not well."""
    path = sqlite_file(database_url)
    for place in sorted({folder.absolute(), path.absolute().parent if path else folder.absolute()}):
        usage = shutil.disk_usage(place)
        free = f"{usage.free / 1024**3:.1f} GiB ({usage.free / usage.total:.0%}) free in {place}"
        if usage.free < LEAST_FREE_BYTES or usage.free < LEAST_FREE_FRACTION * usage.total:
            yield Found(is_well=False, said=f"Only {free}. With a full disk nothing can be saved: make room.")
        else:
            yield Found(is_well=True, said=f"{free}.")


def examine_secret(path: Path) -> Found:
    """Look at who may read the secret: its owner alone."""
    mode = path.stat().st_mode & 0o777
    if mode & 0o077:
        return Found(is_well=False, said=f"Others may read the secret {path} (mode {mode:03o}). Run: chmod 600 {path}")
    return Found(is_well=True, said="Only its owner may read the secret.")
