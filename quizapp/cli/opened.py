"""What commands share: the database of the settings, and an act in the name of somebody of the service."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from quizapp.config import Settings, read_settings
from quizapp.errors import BadInput, Conflict
from quizapp.services.act import Act, SystemRandomness
from quizapp.services.sign_in import actor_of
from quizapp.store.accounts import Account
from quizapp.store.database import Database, sqlite_file
from quizapp.store.people import Service
from quizapp.store.schema import newest_revision, stored_revision


def settings_of_commands() -> Settings:
    """Return the settings; a command serves nobody, so it needs no host names."""
    return read_settings({"QUIZAPP_PLAIN_HTTP": "yes", **os.environ})


@contextmanager
def opened_database() -> Iterator[Database]:
    """Give the database of the settings; raise Conflict when its schema is not the newest."""
    database = Database(settings_of_commands().database_url)
    try:
        if stored_revision(database) != newest_revision():
            raise Conflict("The database has not the newest schema. Nothing was changed. Run: quizapp migrate")
        yield database
    finally:
        database.close()


@contextmanager
def database_to_read() -> Iterator[Database]:
    """Give the database of the settings, which then refuses any change itself; raise Conflict when it cannot be read.

    Nothing is made or mended: no file, no folder, no schema.
    """
    url = settings_of_commands().database_url
    path = sqlite_file(url)
    if path is not None and not path.is_file():
        raise Conflict(f"There is no database {path}. Nothing was made. Check QUIZAPP_DATABASE and QUIZAPP_DATA.")
    database = Database(url, read_only=True)
    try:
        if stored_revision(database) != newest_revision():
            raise Conflict(
                "The database has not the newest schema, so this program cannot read it. Run: quizapp migrate"
            )
        yield database
    except SQLAlchemyError as fault:
        raise Conflict(f"The database cannot be read: {getattr(fault, 'orig', None) or fault}.") from None
    finally:
        database.close()


def zone_of_service(database: Database) -> ZoneInfo:
    """Return the time zone of the service; raise Conflict where none was founded."""
    with database.reading() as session:
        service = session.scalar(select(Service))
    if service is None:
        raise Conflict("No service was founded here yet. Nothing was changed. Run: quizapp found")
    return ZoneInfo(service.zone)


def act_as(session: Session, sign_in_name: str) -> Act:
    """Return an act in the name of a person with an active account; raise BadInput when there is none.

    Whoever can run commands can open the database itself; the name says on whose behalf, for the audit trail.
    """
    service = session.scalar(select(Service))
    if service is None:
        raise Conflict("No service was founded here yet. Nothing was changed. Run: quizapp found")
    name = sign_in_name.strip().casefold()
    account = session.scalar(select(Account).where(Account.sign_in_name == name, Account.is_active.is_(True)))
    if account is None:
        raise BadInput(f"--as: there is no active account {sign_in_name!r}. Nothing was changed.")
    return Act(
        session=session,
        actor=actor_of(session, account.person_id),
        now=datetime.now(UTC),
        randomness=SystemRandomness(),
        zone=ZoneInfo(service.zone),
    )
