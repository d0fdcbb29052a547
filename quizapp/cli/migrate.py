"""`quizapp migrate`: bring the database to the newest schema, whole or not at all."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from quizapp.cli.opened import settings_of_commands
from quizapp.store.schema import newest_revision, stored_revision
from quizapp.web.server import open_database

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_to(commands: Commands) -> None:
    """Add `migrate`."""
    parser = commands.add_parser("migrate", help="bring the database to the newest schema")
    parser.set_defaults(run=run)


def run(_chosen: argparse.Namespace) -> int:
    """Migrate and say from where to where."""
    database = open_database(settings_of_commands())
    try:
        print(f"The database has the newest schema, {stored_revision(database)} of {newest_revision()}.")
    finally:
        database.close()
    return 0
