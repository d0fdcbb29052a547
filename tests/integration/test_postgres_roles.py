"""On PostgreSQL the service can work as a role that may only add to the audit trail (docs/operations.md)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import make_url, text
from sqlalchemy.exc import DBAPIError

from quizapp.assessment.audit_events import AuditEvent
from quizapp.services.audit_trail import record
from quizapp.store.database import Database
from quizapp.store.people import Person
from quizapp.store.schema import migrate
from tests.small_service import SmallService, create_small_service

pytestmark = pytest.mark.postgres


@pytest.fixture
def as_service(request: pytest.FixtureRequest, now: datetime, checkout: Path) -> Iterator[SmallService]:
    """A small service opened as the role that the operators' guide makes."""
    server = request.getfixturevalue("postgres_server")
    name = server.new_migrated()
    small = create_small_service(Database(server.url_of(name)), now)
    guide = (checkout / "docs" / "operations.md").read_text(encoding="utf-8")
    (statements,) = re.findall(r"```sql\n(.*?)```", guide, re.DOTALL)
    with small.database.writing() as session:
        for statement in statements.split(";"):
            if statement.strip():
                session.execute(text(statement))
    opened = Database(make_url(small.database.url).set(username="quizapp_service").render_as_string())
    yield SmallService(database=opened, now=small.now, randomness=small.randomness)
    opened.close()
    with small.database.writing() as session:
        session.execute(text("DROP OWNED BY quizapp_service"))
        session.execute(text("DROP ROLE quizapp_service"))
    small.database.close()
    server.drop(name)


def test_it_starts_and_works(as_service: SmallService) -> None:
    assert migrate(as_service.database) is None
    with as_service.acting("ada") as act:
        act.session.get_one(Person, as_service.person_id("mira")).profession = "pilot"
        record(act, AuditEvent.PERSON_CHANGED, "person", as_service.person_id("mira"))


@pytest.mark.parametrize(
    "statement",
    ["UPDATE audit SET event = 'x'", "DELETE FROM signature", "TRUNCATE audit", "DROP TABLE audit",
     "ALTER TABLE audit DISABLE TRIGGER ALL", "UPDATE alembic_version SET version_num = '1'"],
)  # fmt: skip
def test_the_trail_and_the_schema_are_out_of_its_reach(as_service: SmallService, statement: str) -> None:
    with pytest.raises(DBAPIError, match=r"permission denied|must be owner"), as_service.database.writing() as session:
        session.execute(text(statement))
