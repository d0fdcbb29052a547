"""Brings a database to the newest schema, whole or not at all, and tells which schema it has."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from quizapp.errors import Conflict
from quizapp.store.backup import back_up
from quizapp.store.database import Database, sqlite_file

MIGRATIONS = Path(__file__).parent / "migrations"


def _config(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


def newest_revision() -> str:
    """Return the name of the newest schema this program knows."""
    return ScriptDirectory.from_config(_config()).get_current_head() or ""


def stored_revision(database: Database) -> str:
    """Return the name of the schema the database has, "" for an empty one."""
    with database.engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision() or ""


def known_revisions() -> frozenset[str]:
    """Return the names of all schemas this program can bring up to date."""
    return frozenset(script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions())


def migrate(database: Database, *, keep_backup: bool = True) -> Path | None:
    """Bring the database to the newest schema in one transaction; a checked backup of a SQLite file is made before.

    Returns the backup, None where nothing had to be changed or there was nothing to back up. Raises Conflict when
    the database was written by a newer program or cannot be backed up.
    """
    stored, newest = stored_revision(database), newest_revision()
    if stored and stored not in known_revisions():
        raise Conflict(
            f"This database has the schema {stored}, which is newer than this program. "
            "Nothing was changed. Start the newer program, or restore a backup made by this one."
        )
    path = sqlite_file(database.url)
    kept = _backup_before(path, newest) if keep_backup and path and stored and stored != newest else None
    engine = database.engine.execution_options(writing=True)
    with engine.begin() as connection:
        command.upgrade(_config(connection), "head")
    return kept


def _backup_before(path: Path, newest: str) -> Path:
    """Back the file up beside itself, under the first name that is free."""
    numbered = (
        path.with_name(f"{path.name}.before-{newest}{ending}") for ending in ("", *map("-{}".format, range(2, 100)))
    )
    target = next((name for name in numbered if not name.exists()), None)
    if target is None:
        raise Conflict(f"There are 99 backups beside {path} already. Nothing was changed. Move them elsewhere.")
    back_up(path, target)
    return target
