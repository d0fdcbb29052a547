"""The audit chain as stored: whole after many acts, and append-only in the database itself."""

from __future__ import annotations

import threading

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import DatabaseError

from quizapp.assessment.audit_chain import NO_HASH, chain_hash
from quizapp.assessment.audit_events import AuditEvent
from quizapp.services.audit_trail import record
from quizapp.store.audit import AuditRow
from quizapp.store.database import Database
from tests.small_service import SmallService


def rows(database: Database) -> list[AuditRow]:
    with database.reading() as session:
        return list(session.scalars(select(AuditRow).order_by(AuditRow.seq)))


def act_often(small: SmallService, name: str, times: int) -> None:
    for number in range(times):
        with small.acting(name) as act:
            record(act, AuditEvent.RECORD_SEEN, "person", f"p{number}", thing="test")


def test_acts_of_several_people_form_one_unbroken_chain(small: SmallService) -> None:
    threads = [threading.Thread(target=act_often, args=(small, name, 10)) for name in ("mira", "tor", "ines")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    chain = rows(small.database)
    assert [row.seq for row in chain] == list(range(1, 31))
    prev = NO_HASH
    for row in chain:
        assert row.prev == prev
        assert row.hash == chain_hash(prev, row.body)
        prev = row.hash


def test_an_act_that_fails_leaves_no_row(small: SmallService) -> None:
    def fail_after_recording() -> None:
        with small.acting("mira") as act:
            record(act, AuditEvent.RECORD_SEEN, "person", "p1")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_after_recording()
    assert rows(small.database) == []


@pytest.mark.parametrize("statement", ["UPDATE audit SET event = 'x'", "DELETE FROM audit"])
def test_rows_cannot_be_changed_or_removed(small: SmallService, statement: str) -> None:
    act_often(small, "mira", 2)
    with pytest.raises(DatabaseError, match="append-only"), small.database.writing() as session:
        session.execute(text(statement))
    assert len(rows(small.database)) == 2


def test_a_row_cannot_be_replaced_on_sqlite(small_sqlite: SmallService) -> None:
    act_often(small_sqlite, "mira", 1)
    with pytest.raises(DatabaseError, match="append-only"), small_sqlite.database.writing() as session:
        session.execute(text("INSERT OR REPLACE INTO audit SELECT seq, at, 'x', event, object_type, object_id, body, "
                             "prev, hash FROM audit"))  # fmt: skip


@pytest.mark.postgres
def test_rows_cannot_be_truncated_on_postgresql(small: SmallService) -> None:
    if small.database.is_sqlite:
        return
    act_often(small, "mira", 1)
    with pytest.raises(DatabaseError, match="append-only"), small.database.writing() as session:
        session.execute(text("TRUNCATE audit"))
