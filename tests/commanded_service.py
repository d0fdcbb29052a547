"""A small service whose database the commands open by the environment, as an operator would have it."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizapp.assessment.audit_events import AuditEvent
from quizapp.config import CHECKOUT
from quizapp.services.audit_trail import record
from quizapp.store.database import Database, sqlite_file
from quizapp.store.people import Person
from tests.small_service import SmallService


def commanded(small: SmallService, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Point the commands at the service; its database stands in a file of the folder returned."""
    for name in ("QUIZAPP_HOSTS", "QUIZAPP_PLAIN_HTTP", "QUIZAPP_SECRET_FILE", "QUIZAPP_PROXIES"):
        monkeypatch.delenv(name, raising=False)
    data = folder / "data"
    data.mkdir()
    monkeypatch.setenv("QUIZAPP_DATA", str(data))
    monkeypatch.setenv("QUIZAPP_DATABASE", small.database.url)
    monkeypatch.setenv("QUIZAPP_CONTENT", str(CHECKOUT))
    return data


def file_of(small: SmallService) -> Path:
    path = sqlite_file(small.database.url)
    assert path is not None
    return path


def act_times(small: SmallService, times: int) -> None:
    """Record so many acts that change a record."""
    for number in range(times):
        with small.acting("ada") as act:
            person = act.session.get_one(Person, small.person_id("mira"))
            person.profession = f"paramedic, change {number} of {times}"
            record(act, AuditEvent.PERSON_CHANGED, "person", person.id, person_id=person.id, thing="profession")


def seal_all(small: SmallService) -> None:
    """Put onto the chain what the small service wrote straight into the store, as the founding would have."""
    from sqlalchemy import select

    from quizapp.store.model import Record
    from quizapp.store.record_seals import CHANGED, sealed_tables

    with small.acting("ada") as act:
        changed = {
            table.name: {tuple(key): None for key in act.session.execute(select(*table.primary_key.columns))}
            for table in sealed_tables()
        }
        assert set(changed) <= set(Record.metadata.tables)
        act.session.info[CHANGED] = changed
        record(act, AuditEvent.CHAIN_BEGUN, "chain", "service")


def database_at(path: Path) -> Database:
    return Database(f"sqlite:///{path}")
