"""Opens the database, hands out reading and writing units, and sets what each connection must be.

Writing units begin with the write lock (no lock upgrade can fail later) and commit once, when the block ends well.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.orm import Session

from quizapp.errors import Busy
from quizapp.store.record_seals import WritingSession

SQLITE_PRAGMAS = {
    "journal_mode": "WAL",
    "synchronous": "FULL",
    "foreign_keys": "ON",
    "busy_timeout": "5000",
    "recursive_triggers": "ON",
    "trusted_schema": "OFF",
    "cell_size_check": "ON",
}
POSTGRES_SETTINGS = {
    "statement_timeout": "10s",
    "lock_timeout": "5s",
    "idle_in_transaction_session_timeout": "30s",
    "synchronous_commit": "on",
    "timezone": "UTC",
}
LONGEST_WAIT_FOR_A_TURN_S = 10
BEFORE_COMMIT = "before commit"
"""Where a session's info keeps a function that is called with the session just before the commit."""


def _set_up_sqlite(engine: Engine, *, read_only: bool) -> None:
    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        for pragma, value in SQLITE_PRAGMAS.items():
            if not (read_only and pragma == "journal_mode"):
                connection.execute(f"PRAGMA {pragma}={value}")

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def sqlite_file(url: str) -> Path | None:
    """Return the file of a SQLite address, None for PostgreSQL or a database in memory."""
    parts = make_url(url)
    named = parts.database if parts.get_backend_name() == "sqlite" else None
    return Path(named) if named and named != ":memory:" else None


def _open_engine(url: str, *, read_only: bool) -> Engine:
    path = sqlite_file(url)
    if url.startswith("sqlite"):
        address: str | URL = url
        if read_only and path is not None:
            name = f"file:{quote(str(path.absolute()))}"
            address = URL.create("sqlite", database=name, query={"mode": "ro", "uri": "true"})
        engine = create_engine(address, connect_args={"check_same_thread": False})
        _set_up_sqlite(engine, read_only=read_only)
        return engine
    settings = {**POSTGRES_SETTINGS, "default_transaction_read_only": "on"} if read_only else POSTGRES_SETTINGS
    options = " ".join(f"-c {name}={value}" for name, value in settings.items())
    engine = create_engine(url, pool_size=10, max_overflow=20, pool_pre_ping=True, connect_args={"options": options})
    # One reading unit then sees one moment, as it does on SQLite.
    return engine.execution_options(isolation_level="REPEATABLE READ") if read_only else engine


class Database:
    """One database and its connections."""

    def __init__(self, url: str, *, read_only: bool = False) -> None:
        """Open lazily; `url` is a SQLAlchemy address (sqlite:///file or postgresql+psycopg://...).

        `read_only` has the database itself refuse any change, and makes no file that is not there.
        """
        self.url = url
        self.engine = _open_engine(url, read_only=read_only)
        self._writing_engine = self.engine.execution_options(writing=True)
        self._turn = threading.Lock()
        self.is_sqlite = self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session whose changes are always rolled back."""
        with Session(self.engine, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session that commits once when the block ends well and rolls back on any error.

        Within one process writers take turns, since waiting inside SQLite is not fair.
        """
        if not self.is_sqlite:
            yield from self._write()
            return
        if not self._turn.acquire(timeout=LONGEST_WAIT_FOR_A_TURN_S):
            raise Busy("Too many are saving at this moment. Nothing was saved. Try again in a moment.")
        try:
            yield from self._write()
        finally:
            self._turn.release()

    def _write(self) -> Iterator[Session]:
        with WritingSession(self._writing_engine, expire_on_commit=False) as session:
            try:
                yield session
                if before_commit := session.info.get(BEFORE_COMMIT):
                    before_commit(session)
                session.commit()
            except BaseException:
                session.rollback()
                raise

    def close(self) -> None:
        """Close all connections."""
        self.engine.dispose()
