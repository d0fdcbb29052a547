"""Show, then sign: the shown bytes, the password in the same request, once, and never somebody else's."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.signing import Meaning, faults_of_signature, open_intent, prepare_to_sign, sign
from quizapp.store.audit import AuditRow, Signature
from tests.small_service import PASSWORD, SmallService

STATEMENT = {"person": "Mira", "decision": "competent", "until": "2027-03-01"}


def prepared(small: SmallService) -> str:
    with small.acting("ines") as act:
        return prepare_to_sign(act, record_type="decision", statement=STATEMENT).id


def signed(small: SmallService, intent_id: str, *, password: str = PASSWORD, later: timedelta = timedelta()) -> str:
    with small.acting("ines", at=small.now + later) as act:
        intent = open_intent(act, intent_id, record_type="decision")
        meaning = Meaning(word="decides", sentence="I decide.", role=Role.EDUCATOR, base_id=small.base_id)
        return sign(act, intent, password=password, record_type="decision", record_id="r" * 32, meaning=meaning).id


def stored(small: SmallService) -> list[Signature]:
    with small.database.reading() as session:
        return list(session.scalars(select(Signature)))


def test_a_signature_keeps_what_was_shown_and_by_whom(small: SmallService) -> None:
    signed(small, prepared(small))
    (row,) = stored(small)
    assert (row.printed_name, row.role, row.meaning, row.zone) == ("Ines", "educator", "decides", "Europe/London")
    assert b'"decision":"competent"' in row.shown
    assert faults_of_signature(row) == []


@pytest.mark.parametrize(("field", "value"), [("printed_name", "Ada"), ("shown", b"{}"), ("meaning_text", "I guess.")])
def test_any_change_of_a_signature_is_seen(small_sqlite: SmallService, field: str, value: object) -> None:
    signed(small_sqlite, prepared(small_sqlite))
    (row,) = stored(small_sqlite)
    setattr(row, field, value)
    assert faults_of_signature(row)


def test_a_wrong_password_signs_nothing_and_leaves_a_trace(small: SmallService) -> None:
    intent_id = prepared(small)
    with small.acting("ines") as act:
        intent = open_intent(act, intent_id, record_type="decision")
        meaning = Meaning(word="decides", sentence="I decide.", role=Role.EDUCATOR, base_id=small.base_id)
        with pytest.raises(BadInput, match="Nothing was signed"):
            sign(act, intent, password="wrong", record_type="decision", record_id="r" * 32, meaning=meaning)
    assert stored(small) == []
    with small.database.reading() as session:
        assert list(session.scalars(select(AuditRow.event))) == [AuditEvent.REFUSED]


def test_what_was_shown_can_be_signed_once(small: SmallService) -> None:
    intent_id = prepared(small)
    signed(small, intent_id)
    with pytest.raises(Conflict, match="signed already"):
        signed(small, intent_id)
    assert len(stored(small)) == 1


def test_what_was_shown_too_long_ago_cannot_be_signed(small: SmallService) -> None:
    with pytest.raises(Conflict, match="older than five minutes"):
        signed(small, prepared(small), later=timedelta(minutes=5))


def test_nobody_signs_what_another_person_was_shown(small: SmallService) -> None:
    intent_id = prepared(small)
    with small.acting("cleo") as act, pytest.raises(NotFound):
        open_intent(act, intent_id, record_type="decision")
