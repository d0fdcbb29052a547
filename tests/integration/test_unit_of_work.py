"""Reading and writing units: what each connection is set to, one commit, nothing left after an error."""

from __future__ import annotations

import sqlite3
import threading

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError, OperationalError

from quizapp.store.database import SQLITE_PRAGMAS, Database
from quizapp.store.people import RescueBase


def a_base(code: str) -> RescueBase:
    return RescueBase(id=code.lower().ljust(32, "0"), code=code, name=code, setting="test")


def codes(database: Database) -> set[str]:
    with database.reading() as session:
        return set(session.scalars(select(RescueBase.code)))


def test_a_writing_unit_commits_once_at_its_end(database: Database) -> None:
    with database.writing() as session:
        session.add(a_base("AAA"))
    assert codes(database) == {"AAA"}


def test_an_error_in_a_writing_unit_leaves_nothing(database: Database) -> None:
    def fail_after_adding() -> None:
        with database.writing() as session:
            session.add(a_base("AAA"))
            session.flush()
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_after_adding()
    assert codes(database) == set()


def test_a_reading_unit_changes_nothing(database: Database) -> None:
    with database.reading() as session:
        session.add(a_base("AAA"))
        session.flush()
    assert codes(database) == set()


def test_every_sqlite_connection_has_every_setting(sqlite_database: Database) -> None:
    expected = {"WAL": "wal", "FULL": 2, "ON": 1, "OFF": 0, "5000": 5000}
    for unit in (sqlite_database.reading, sqlite_database.writing):
        with unit() as session:
            for pragma, wanted in SQLITE_PRAGMAS.items():
                assert session.scalar(text(f"PRAGMA {pragma}")) == expected[wanted], pragma


def test_a_writing_unit_holds_the_write_lock_from_its_beginning(sqlite_database: Database) -> None:
    with sqlite_database.writing() as session:
        session.execute(text("SELECT 1"))
        other = sqlite3.connect(sqlite_database.engine.url.database or "", timeout=0)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()


def test_writers_in_one_process_take_turns(database: Database) -> None:
    def add(number: int) -> None:
        with database.writing() as session:
            session.add(a_base(f"B{number:02}"))

    threads = [threading.Thread(target=add, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(codes(database)) == 12


def test_unknown_references_are_refused(database: Database) -> None:
    with pytest.raises((IntegrityError, OperationalError)), database.writing() as session:
        session.execute(
            text(
                "INSERT INTO device_in_service (id, base_id, profile_code, profile_revision, from_day, recorded_by, "
                "recorded_at) VALUES ('x', 'nowhere', 'TV-A', 1, '2026-01-01', 'nobody', '2026-01-01T00:00:00.000000Z')"
            )
        )
