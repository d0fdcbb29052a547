"""A schema change of a SQLite file is preceded by a checked backup, and refused when none can be made."""

from __future__ import annotations

from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import text

from quizapp.errors import Conflict
from quizapp.store import schema
from quizapp.store.backup import state_of
from quizapp.store.database import Database
from quizapp.store.schema import migrate, newest_revision, stored_revision


@pytest.fixture
def old(tmp_path: Path) -> Database:
    """A database one schema behind."""
    database = Database(f"sqlite:///{tmp_path / 'old.db'}")
    with database.engine.execution_options(writing=True).begin() as connection:
        command.upgrade(schema._config(connection), "0001")
    return database


def test_the_backup_holds_the_schema_before(old: Database, tmp_path: Path) -> None:
    kept = migrate(old)
    assert kept == tmp_path / f"old.db.before-{newest_revision()}"
    assert state_of(kept).revision == "0001"
    assert stored_revision(old) == newest_revision()
    assert migrate(old) is None
    old.close()


def test_an_earlier_backup_is_not_overwritten(old: Database, tmp_path: Path) -> None:
    earlier = tmp_path / f"old.db.before-{newest_revision()}"
    earlier.write_text("kept", encoding="utf-8")
    assert migrate(old) == earlier.with_name(f"{earlier.name}-2")
    assert earlier.read_text(encoding="utf-8") == "kept"
    old.close()


def test_no_backup_no_change(old: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_source: Path, target: Path) -> None:
        raise Conflict(f"{target} could not be written: disk full.")

    monkeypatch.setattr(schema, "back_up", refuse)
    with pytest.raises(Conflict, match="disk full"):
        migrate(old)
    assert stored_revision(old) == "0001"
    old.close()


def test_a_new_database_needs_none(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'new.db'}")
    assert migrate(database) is None
    assert [path.name for path in tmp_path.iterdir() if "before" in path.name] == []
    database.close()


def test_a_newer_schema_is_refused_whole(old: Database) -> None:
    with old.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Conflict, match="newer than this program"):
        migrate(old)
    assert stored_revision(old) == "9999"
    old.close()
