"""`quizapp doctor`: looks over settings, content, database and disk of an installation; 1 when anything is not well."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sqlalchemy.exc import SQLAlchemyError

from quizapp.config import Settings, data_folder, read_settings, secret_file
from quizapp.content.library import check_library
from quizapp.errors import QuizappError
from quizapp.services.examine_installation import Found, examine_database, examine_secret, examine_space
from quizapp.store.database import Database, sqlite_file

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_to(commands: Commands) -> None:
    """Add `doctor`."""
    parser = commands.add_parser("doctor", help="look over an installation: settings, content, database, disk")
    parser.set_defaults(run=run)


def run(_chosen: argparse.Namespace) -> int:
    """Print a sentence for each thing looked at; 1 when one is not well."""
    found = []
    for one in _examine(datetime.now(UTC)):
        print(f"{'well    ' if one.is_well else 'NOT WELL'}  {one.said}", flush=True)
        found.append(one.is_well)
    return 0 if all(found) else 1


def _examine(now: datetime) -> Iterator[Found]:
    try:
        settings = read_settings(os.environ)
    except QuizappError as fault:
        yield Found(is_well=False, said=f"The service would not start: {fault}")
        return
    yield Found(is_well=True, said="The settings can be used.")
    yield examine_secret(secret_file(os.environ))
    yield _content(settings, now)
    yield from examine_space(settings.database_url, data_folder(os.environ))
    yield from _database(settings, now)


def _content(settings: Settings, now: datetime) -> Found:
    library, faults = check_library(settings.content_folder, now.date())
    errors = sum(fault.level == "error" for fault in faults)
    if errors:
        return Found(is_well=False, said=f"The content has {errors} faults. Run: quizapp content check")
    return Found(is_well=True, said=f"The content has no faults ({len(library.families)} families).")


def _database(settings: Settings, now: datetime) -> Iterator[Found]:
    path = sqlite_file(settings.database_url)
    if path is not None and not path.is_file():
        yield Found(is_well=False, said=f"There is no database {path} yet. Run: quizapp found")
        return
    database = Database(settings.database_url)
    try:
        yield from examine_database(database, now)
    except SQLAlchemyError as fault:
        yield Found(is_well=False, said=f"The database cannot be used: {getattr(fault, 'orig', None) or fault}.")
    finally:
        database.close()
