"""What the database fixtures promise, on both kinds."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from made_up_service import MadeUpPerson, MadeUpService
from sqlalchemy import inspect, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.store.database import Database
from quizapp.store.schema import newest_revision, stored_revision

ActAs = Callable[[Session, MadeUpPerson], Act]
INSERT = text(
    "INSERT INTO base (id, code, name, setting) VALUES ('a1', 'north', 'North', 'mountain')",
)


@pytest.mark.parametrize("turn", [1, 2])
def test_each_test_gets_a_fresh_database_with_the_newest_schema(database: Database, turn: int) -> None:
    assert stored_revision(database) == newest_revision()
    with database.writing() as session:
        session.execute(INSERT)
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM base")).scalar_one() == 1


def test_a_unit_that_fails_leaves_nothing(database: Database) -> None:
    def insert_twice() -> None:
        with database.writing() as session:
            session.execute(INSERT)
            session.execute(INSERT)

    with pytest.raises(IntegrityError):
        insert_twice()
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM base")).scalar_one() == 0


def test_an_empty_database_has_no_schema(empty_database_url: str) -> None:
    empty = Database(empty_database_url)
    try:
        assert stored_revision(empty) == ""
        assert inspect(empty.engine).get_table_names() == []
    finally:
        empty.close()


def test_the_made_up_service_has_every_role(database: Database, service: MadeUpService, act_as: ActAs) -> None:
    with database.reading() as session:
        act = act_as(session, service.assessor)
        assert act.actor.holds(Role.ASSESSOR, act.today, service.base_id)
        assert not act.actor.holds(Role.ASSESSOR, act.today, service.other_base_id)
        assert act_as(session, service.administrator).actor.holds(Role.ADMINISTRATOR, act.today, service.other_base_id)
