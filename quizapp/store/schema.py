"""Brings a database to the newest schema, whole or not at all, and tells which schema it has."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from quizapp.errors import Conflict
from quizapp.store.database import Database

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


def migrate(database: Database) -> None:
    """Bring the database to the newest schema in one transaction.

    Raises Conflict when the database was written by a newer program.
    """
    known = {script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions()}
    stored = stored_revision(database)
    if stored and stored not in known:
        raise Conflict(
            f"This database has the schema {stored}, which is newer than this program. "
            "Nothing was changed. Start the newer program, or restore a backup made by this one."
        )
    engine = database.engine.execution_options(writing=True)
    with engine.begin() as connection:
        command.upgrade(_config(connection), "head")
