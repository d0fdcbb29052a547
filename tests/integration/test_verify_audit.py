"""The stored trail on both kinds of database: whole as written, and whatever is changed past the program is named."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import text

from quizapp.assessment.audit_anchors import Anchor, make_anchor
from quizapp.assessment.audit_chain import ChainFault, ChainHead, FaultKind
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.roles import Role
from quizapp.errors import NotFound
from quizapp.services.audit_trail import record
from quizapp.services.export_audit import take_anchor
from quizapp.services.signing import Meaning, open_intent, prepare_to_sign, sign
from quizapp.services.verify_audit import ChainReport, verify_stored_chain
from quizapp.services.verify_records import verify_records, verify_signatures
from quizapp.store.database import Database
from quizapp.store.people import Person
from tests.small_service import PASSWORD, SmallService

SECRET = "only-for-tests-" * 3
PEOPLE = ("mira", "tor", "una", "ines", "cleo", "leif")


@pytest.fixture
def written(small: SmallService) -> SmallService:
    """A service with acts on the trail: thirteen rows, one signature."""
    for name in PEOPLE * 2:
        with small.acting("ada") as act:
            person = act.session.get_one(Person, small.person_id(name))
            person.profession += ", senior"
            record(act, AuditEvent.PERSON_CHANGED, "person", person.id, person_id=person.id, thing="profession")
    with small.acting("ines") as act:
        intent = prepare_to_sign(act, record_type="test", statement={"says": "seen"})
        ready = open_intent(act, intent.id, record_type="test")
        meaning = Meaning(word="seen", sentence="I saw this.", role=Role.EDUCATOR, base_id=small.base_id)
        sign(act, ready, password=PASSWORD, record_type="test", record_id="1" * 32, meaning=meaning)
        record(act, AuditEvent.RECORD_SEEN, "test", "1" * 32)
    return small


def change(database: Database, *statements: str) -> None:
    """Change rows as the owner of the machine can: with the triggers put aside."""
    with database.engine.execution_options(writing=True).begin() as connection:
        if database.is_sqlite:
            triggers = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars().all()
            for name in triggers:
                connection.execute(text(f"DROP TRIGGER {name}"))
        else:
            for table in ("audit", "signature"):
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        for statement in statements:
            connection.execute(text(statement))


def report(small: SmallService, *, first: int = 1, anchors: tuple[Anchor, ...] = ()) -> ChainReport:
    with small.database.reading() as session:
        return verify_stored_chain(session, first=first, anchors=anchors, secret=SECRET)


def faults(small: SmallService) -> list[ChainFault]:
    """Everything but the records that the fixtures wrote past the program."""
    with small.database.reading() as session:
        chain = verify_stored_chain(session)
        records = [
            one for one in verify_records(session, chain.seals)[1] if "no row of the audit trail" not in one.message
        ]
        return [*chain.faults, *records, *verify_signatures(session, chain.seals)[1]]


def anchor_now(small: SmallService) -> Anchor:
    with small.database.writing() as session:
        return take_anchor(session, small.now, secret=SECRET)


def test_what_the_program_wrote_is_whole(written: SmallService) -> None:
    anchor = anchor_now(written)
    found = report(written, anchors=(anchor,))
    assert (found.rows, found.faults, found.notes, found.good_anchor) == (14, (), (), 13)
    assert faults(written) == []
    assert report(written, first=10).rows == 5
    with written.database.reading() as session:
        assert verify_signatures(session, found.seals) == (1, [])


def test_an_anchor_taken_twice_in_a_row_adds_one_row_only(written: SmallService) -> None:
    anchors = tuple(anchor_now(written) for _time in range(3))
    assert [one.head.seq for one in anchors] == [13, 14, 14]
    assert report(written, anchors=anchors).faults == ()


def flipped(database: Database) -> str:
    if database.is_sqlite:
        return "UPDATE audit SET body = CAST(replace(CAST(body AS TEXT), 'prof', 'prog') AS BLOB) WHERE seq = 5"
    return "UPDATE audit SET body = decode(replace(encode(body, 'hex'), '70726f66', '70726f67'), 'hex') WHERE seq = 5"


CHANGES: dict[str, tuple[Callable[[Database], str], FaultKind, int]] = {
    "body": (flipped, FaultKind.EDIT, 5),
    "column beside the body": (lambda _db: "UPDATE audit SET event = 'refused' WHERE seq = 5", FaultKind.EDIT, 5),
    "time": (lambda _db: "UPDATE audit SET at = '2026-03-02T09:00:01.000000Z' WHERE seq = 5", FaultKind.EDIT, 5),
    "removed": (lambda _db: "DELETE FROM audit WHERE seq = 5", FaultKind.GAP, 5),
    "cut off": (lambda _db: "DELETE FROM audit WHERE seq > 10", FaultKind.TRUNCATED, 11),
    "number": (lambda _db: "UPDATE audit SET seq = 99 WHERE seq = 5", FaultKind.ORDER, 5),
    "head": (lambda _db: "UPDATE audit_head SET seq = 3", FaultKind.HEAD_DIFFERS, 13),
    "record": (lambda _db: "UPDATE person SET profession = 'x' WHERE name = 'Mira'", FaultKind.RECORD_DIFFERS, 7),
    "salt": (lambda _db: "UPDATE record_seal SET salt = 'zz' WHERE record_table = 'signature'",
             FaultKind.RECORD_DIFFERS, 13),
    "signature": (lambda _db: "UPDATE signature SET printed_name = 'Somebody'", FaultKind.SIGNATURE_BAD, 13),
    "time of signing": (lambda _db: "UPDATE signature SET signed_at = '2026-03-03T09:00:01.000000Z'",
                        FaultKind.SIGNATURE_BAD, 13),
    "signature removed": (lambda _db: "DELETE FROM signature", FaultKind.RECORD_DIFFERS, 13),
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGES)
def test_each_change_past_the_program_is_named(written: SmallService, what: str) -> None:
    statement, kind, seq = CHANGES[what]
    change(written.database, statement(written.database))
    assert (kind, seq) in {(one.kind, one.seq) for one in faults(written)}


def test_only_an_anchor_sees_a_tail_cut_off_together_with_its_head(written: SmallService) -> None:
    anchor = anchor_now(written)
    change(written.database, "DELETE FROM audit WHERE seq > 10",
           "UPDATE audit_head SET seq = 10, hash = (SELECT hash FROM audit WHERE seq = 10)")  # fmt: skip
    assert report(written).faults == ()
    (fault,) = report(written, anchors=(anchor,)).faults
    assert (fault.kind, fault.seq) == (FaultKind.TRUNCATED, 11)


def test_an_anchor_of_another_history_or_with_a_changed_seal_is_named(written: SmallService) -> None:
    other = ChainHead(seq=4, hash=bytes(32))
    genuine = make_anchor(SECRET, chain="service", head=other, at="2026-03-02T09:00:00.000000Z")
    assert [one.kind for one in report(written, anchors=(genuine,)).faults] == [FaultKind.ANCHOR_MISMATCH]
    (kept,) = [anchor_now(written)]
    changed = Anchor(chain=kept.chain, head=kept.head, at="2025-03-02T09:00:00.000000Z", key_id=kept.key_id,
                     seal=kept.seal)  # fmt: skip
    assert [one.kind for one in report(written, anchors=(changed,)).faults] == [FaultKind.SIGNATURE_BAD]
    foreign = make_anchor("another secret " * 3, chain="service", head=kept.head, at=kept.at)
    found = report(written, anchors=(foreign,))
    assert (found.faults, found.good_anchor, len(found.notes)) == ((), kept.head.seq, 1)


def test_a_clock_that_went_back_is_noted_and_no_fault(written: SmallService) -> None:
    with written.acting("ada", at=written.now.replace(hour=8)) as act:
        record(act, AuditEvent.RECORD_SEEN, "person", "1" * 32)
    found = report(written)
    assert found.faults == ()
    assert "The clock went back before row 14" in found.notes[0]


def test_a_record_that_no_act_wrote_is_named(small_sqlite: SmallService) -> None:
    with small_sqlite.database.reading() as session:
        count, found = verify_records(session, verify_stored_chain(session).seals)
    assert count == len(found) > 20
    assert {one.kind for one in found} == {FaultKind.RECORD_DIFFERS}


def test_a_start_that_is_not_there_is_refused(written: SmallService) -> None:
    with pytest.raises(NotFound, match="no row 98"):
        report(written, first=99)
