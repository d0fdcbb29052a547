"""Each changed record's hash goes onto the chain in the transaction that changed it, whatever way it was changed."""

from __future__ import annotations

import json
from datetime import date

import pytest
from sqlalchemy import delete, insert, select, text, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.record_hashes import row_hash
from quizapp.services.audit_trail import Entry, record, record_many
from quizapp.store import Record
from quizapp.store.audit import AuditRow
from quizapp.store.database import Database
from quizapp.store.people import Person, RescueBase
from quizapp.store.record_seals import NOT_SEALED, RecordSeal, records_of
from tests.small_service import SmallService


def seals_by_row(database: Database) -> list[list[list[str]]]:
    """What each row of the chain says about records, oldest first."""
    with database.reading() as session:
        bodies = session.scalars(select(AuditRow.body).order_by(AuditRow.seq))
        return [json.loads(body)["details"].get("records", []) for body in bodies]


def hash_now(database: Database, table: str, key: str) -> str:
    with database.reading() as session:
        fields = dict(records_of(session, Record.metadata.tables[table]))[key]
        salt = session.get_one(RecordSeal, (table, key)).salt
    return row_hash(table, fields, salt=bytes.fromhex(salt)).hex()


def a_base(key: str) -> RescueBase:
    return RescueBase(id=key * 32, code=key, name=f"Base {key}", setting="coast")


def test_an_added_record_is_sealed_with_the_row_that_says_so(small: SmallService) -> None:
    with small.acting("ada") as act:
        act.session.add(a_base("d"))
        record(act, AuditEvent.RECORD_SEEN, "base", "d" * 32)
    assert seals_by_row(small.database) == [[["base", "d" * 32, hash_now(small.database, "base", "d" * 32)]]]


def test_what_is_changed_after_the_last_row_gets_a_row_of_its_own(small: SmallService) -> None:
    with small.acting("ada") as act:
        record(act, AuditEvent.RECORD_SEEN, "base", "d" * 32)
        act.session.get_one(RescueBase, small.base_id).name = "Cairnlow by the sea"
    sealed = ["base", small.base_id, hash_now(small.database, "base", small.base_id)]
    assert seals_by_row(small.database) == [[], [sealed]]
    with small.database.reading() as session:
        assert session.scalars(select(AuditRow.event).order_by(AuditRow.seq)).all()[-1] == "records_sealed"


def test_changes_by_statement_are_sealed_too(small: SmallService) -> None:
    mira, tor = small.person_id("mira"), small.person_id("tor")
    with small.acting("ada") as act:
        act.session.execute(update(Person).where(Person.id == mira).values(profession="pilot"))
        act.session.execute(update(Person), [{"id": tor, "profession": "winch operator"}])
        act.session.execute(insert(RescueBase), [{"id": "e" * 32, "code": "e", "name": "E", "setting": "fen"}])
        act.session.execute(insert(RescueBase).values(id="f" * 32, code="f", name="F", setting="fen"))
        record(act, AuditEvent.RECORD_SEEN, "person", mira)
    with small.acting("ada") as act:
        act.session.execute(delete(RescueBase).where(RescueBase.code == "f"))
        record(act, AuditEvent.RECORD_SEEN, "base", "f" * 32)
    first, second = seals_by_row(small.database)
    changed = [("person", mira), ("person", tor), ("base", "e" * 32)]
    assert [seal for seal in first if seal[1] != "f" * 32] == [
        [table, key, hash_now(small.database, table, key)] for table, key in changed
    ]
    assert second == [["base", "f" * 32, ""]]
    with small.database.reading() as session:
        assert session.get(RecordSeal, ("base", "f" * 32)) is None


def test_each_of_many_entries_carries_its_own_record(small: SmallService) -> None:
    with small.acting("ada") as act:
        act.session.add_all([a_base("d"), a_base("e")])
        act.session.get_one(Person, small.person_id("mira")).profession = "pilot"
        record_many(act, [Entry(event=AuditEvent.RECORD_SEEN, object_type="base", object_id=key * 32) for key in "de"])
    keys = [[seal[1] for seal in seals] for seals in seals_by_row(small.database)]
    assert keys == [["d" * 32], ["e" * 32, small.person_id("mira")]]


def test_a_change_takes_a_new_salt(small: SmallService) -> None:
    salts = set()
    for name in ("Mira One", "Mira Two"):
        with small.acting("ada") as act:
            act.session.get_one(Person, small.person_id("mira")).name = name
            record(act, AuditEvent.PERSON_CHANGED, "person", small.person_id("mira"))
        with small.database.reading() as session:
            salts.add(session.get_one(RecordSeal, ("person", small.person_id("mira"))).salt)
    assert len(salts) == 2


def test_what_was_read_or_set_to_the_same_value_is_not_sealed_again(small: SmallService) -> None:
    with small.acting("ada") as act:
        person = act.session.get_one(Person, small.person_id("mira"))
        person.left_on = None
        person.joined_on = date(2025, 1, 1)
        record(act, AuditEvent.RECORD_SEEN, "person", person.id)
    assert seals_by_row(small.database) == [[]]


def test_a_statement_whose_rows_cannot_be_told_is_refused(small_sqlite: SmallService) -> None:
    copied = insert(RescueBase).from_select(["id", "code", "name", "setting"], select(text("'g', 'g', 'g', 'g'")))
    with pytest.raises(NotImplementedError, match="must name its rows"), small_sqlite.acting("ada") as act:
        act.session.execute(copied)


def test_every_table_left_unsealed_exists() -> None:
    assert set(Record.metadata.tables) >= NOT_SEALED
