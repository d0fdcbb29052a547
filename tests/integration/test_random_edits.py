"""Random edits of stored values, in the audit trail and in every kind of record, are all found; nothing else is."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.services.signing import Meaning, open_intent, prepare_to_sign, sign
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.services.verify_records import verify_records, verify_signatures
from quizapp.store.model import Record
from quizapp.store.record_seals import sealed_tables
from tests.commanded_service import seal_all
from tests.knowledge_forms import answer, begun, composed, handed_in, questions, right_text
from tests.small_service import PASSWORD, SmallService

PLACES = [(table.name, column.name) for table in (*sealed_tables(), Record.metadata.tables["audit"])
          for column in table.columns]  # fmt: skip
Value = str | int | float | bytes


@pytest.fixture
def busy(small_sqlite: SmallService, library: Library) -> SmallService:
    """A service with answers, evidence and a signature, every record on the trail."""
    small = small_sqlite
    sitting_id = begun(small, library, composed(small, library))
    for one in questions(small, sitting_id):
        answer(small, sitting_id, one.position, right_text(one.question))
    handed_in(small, sitting_id)
    with small.acting("ines") as act:
        ready = open_intent(act, prepare_to_sign(act, record_type="t", statement={"a": "b"}).id, record_type="t")
        meaning = Meaning(word="seen", sentence="I saw this.", role=Role.EDUCATOR, base_id=small.base_id)
        sign(act, ready, password=PASSWORD, record_type="t", record_id="1" * 32, meaning=meaning)
    seal_all(small)
    return small


def faults(session: Session) -> int:
    chain = verify_stored_chain(session)
    records = verify_records(session, chain.seals)[1]
    return len([*chain.faults, *records, *verify_signatures(session, chain.seals)[1]])


def edited(value: Value, chance: random.Random) -> Value:
    """Another value of the same kind, one byte, one unit or one last binary place away."""
    if isinstance(value, int):
        return value + chance.choice((-1, 1)) * 10 ** chance.randrange(3)
    if isinstance(value, float):
        return math.nextafter(value, math.inf)
    stored = bytearray(value.encode() if isinstance(value, str) else value)
    if not stored:
        return "x" if isinstance(value, str) else b"x"
    stored[chance.randrange(len(stored))] ^= chance.randrange(1, 128)
    return stored.decode("latin-1") if isinstance(value, str) else bytes(stored)


def edit_once(session: Session, chance: random.Random) -> str:
    """Edit one stored value in the open transaction; return its table, "" when the database itself refused."""
    table, column = chance.choice(PLACES)
    rows = session.execute(text(f"SELECT rowid, {column} FROM {table} WHERE {column} IS NOT NULL")).all()
    if not rows:
        return ""
    row, before = chance.choice(rows)
    change = text(f"UPDATE {table} SET {column} = :after WHERE rowid = :row")
    try:
        session.execute(change, {"after": edited(before, chance), "row": row})
    except IntegrityError:
        return ""
    return table


@contextmanager
def unguarded(small: SmallService) -> Iterator[Session]:
    """A transaction never committed, as somebody with the machine in hand has it: no triggers, checks, references."""
    with small.database.reading() as session:
        for name in session.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).all():
            session.execute(text(f"DROP TRIGGER {name}"))
        session.execute(text("PRAGMA ignore_check_constraints=ON"))
        session.execute(text("PRAGMA defer_foreign_keys=ON"))
        yield session


@pytest.mark.parametrize("turns", [200, pytest.param(10_000, marks=pytest.mark.soak)])
def test_random_edits_of_stored_values_are_all_found(busy: SmallService, turns: int) -> None:
    chance = random.Random(20260302)
    unseen, tables = [], []
    while len(tables) < turns:
        before = chance.getstate()
        with unguarded(busy) as session:
            table = edit_once(session, chance)
            if table:
                tables.append(table)
                unseen += [] if faults(session) else [(table, before)]
    assert unseen == []
    assert len(set(tables)) >= 12
    with busy.database.reading() as session:
        assert faults(session) == 0
