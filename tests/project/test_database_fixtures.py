"""What the database fixtures promise, on both kinds."""

from __future__ import annotations

import pytest
from sqlalchemy import inspect, text
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.roles import Role
from quizapp.store.database import Database
from quizapp.store.schema import newest_revision, stored_revision
from tests.small_service import SmallService

INSERT = text("INSERT INTO base (id, code, name, setting) VALUES ('a1', 'north', 'North', 'mountain')")


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


def test_the_small_service_has_roles_at_their_base_only(small: SmallService) -> None:
    with small.acting("tor") as act:
        assert act.actor.holds(Role.ASSESSOR, act.today, small.base_id)
        assert not act.actor.holds(Role.ASSESSOR, act.today, small.other_base_id)
    with small.acting("ada") as act:
        assert act.actor.holds(Role.ADMINISTRATOR, act.today, small.other_base_id)
