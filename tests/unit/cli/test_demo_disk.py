"""The invented past is written without waiting for the disk; whatever is written afterwards waits again."""

from __future__ import annotations

from sqlalchemy import text

from quizapp.cli.demo import _not_waiting_for_the_disk
from quizapp.store.database import Database

OFF, FULL = 0, 2


def synchronous(database: Database) -> int:
    with database.engine.connect() as connection:
        return int(connection.execute(text("PRAGMA synchronous")).scalar_one())


def test_only_the_building_does_not_wait(sqlite_database: Database) -> None:
    assert synchronous(sqlite_database) == FULL
    with _not_waiting_for_the_disk(sqlite_database):
        assert synchronous(sqlite_database) == OFF
    assert synchronous(sqlite_database) == FULL
