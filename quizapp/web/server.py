"""Opens everything a running service needs, or says in one go why it cannot start."""

from __future__ import annotations

import logging
import os
from collections.abc import Mapping

from flask import Flask
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from quizapp.config import Settings, read_settings
from quizapp.content.library import Library, read_library
from quizapp.errors import Conflict, ContentFault, ContentFaults
from quizapp.store.database import Database
from quizapp.store.schema import migrate
from quizapp.web import create_app
from quizapp.web.edge import Edge


def open_edge(environment: Mapping[str, str]) -> Edge:
    """Read settings and content, open the database and bring it to the newest schema.

    Raises BadInput for a setting, ContentFaults with every fault of the content, Conflict for a database that cannot
    be used. Nothing is served before all of it is right.
    """
    settings = read_settings(environment)
    library = content_of(settings)
    return Edge(settings=settings, database=open_database(settings), library=library)


def content_of(settings: Settings) -> Library:
    """Return the content, or raise ContentFaults with a first line that names the folder."""
    try:
        return read_library(settings.content_folder)
    except ContentFaults as found:
        message = f"{len(found.faults)} faults in {settings.content_folder}; nothing is served until they are mended"
        raise ContentFaults([ContentFault(path="", line=0, message=message), *found.faults]) from None


def open_database(settings: Settings) -> Database:
    """Return the database with the newest schema, or raise Conflict saying why it cannot be used."""
    database = Database(settings.database_url)
    try:
        if kept := migrate(database):
            logging.getLogger(__name__).warning("The schema was brought up to date; the backup before it is %s", kept)
        with Session(database.engine) as session:
            session.connection()
    except SQLAlchemyError as fault:
        database.close()
        raise Conflict(
            f"The database {database.engine.url.render_as_string(hide_password=True)} cannot be used: "
            f"{getattr(fault, 'orig', None) or type(fault).__name__}. "
            "Nothing was changed. Check that it is there and that this user may write to it."
        ) from None
    return database


def application() -> Flask:
    """Return the application for a server that starts it itself (gunicorn "quizapp.web.server:application()")."""
    return create_app(open_edge(os.environ))
