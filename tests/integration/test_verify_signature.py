"""One signature verified: whole as it was signed, and whatever is changed afterwards is named exactly."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotFound
from quizapp.services.amend_decision import AmendmentWanted, prepare_amendment, sign_amendment
from quizapp.services.draft_standard import begin_draft, change_general
from quizapp.services.put_standard_in_force import prepare_standard, sign_standard
from quizapp.services.verify_signature import Verified, signature_by_receipt, verify_signature
from quizapp.services.void_decision import prepare_settling, prepare_void, sign_void
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision
from quizapp.store.people import Person
from tests.deciding import decide, show, with_standard
from tests.small_service import PASSWORD, SmallService

GUARDS = (
    "signature_no_update", "signature_no_delete", "decision_no_update", "decision_no_delete", "decision_void_stands",
    "audit_no_update", "audit_no_delete", "standard_no_update", "standard_requirement_no_update",
)  # fmt: skip


@pytest.fixture
def decided(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8 with one signature."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def verified(small: SmallService, *, meaning: str = "decides") -> Verified:
    with small.database.reading() as session:
        return verify_signature(session, session.scalars(select(Signature).where(Signature.meaning == meaning)).one())


def tampered(small: SmallService, statement: str) -> None:
    """Change what stands in the file itself, past the guards of the database."""
    with closing(sqlite3.connect(small.database.url.removeprefix("sqlite:///"))) as file:
        file.execute("PRAGMA ignore_check_constraints=ON")
        for guard in GUARDS:
            file.execute(f"DROP TRIGGER IF EXISTS {guard}")
        assert file.execute(statement).rowcount > 0
        file.commit()


def failing(found: Verified) -> dict[str, str]:
    return {step.about: step.found for step in found.steps if not step.fits}


def test_a_decision_as_it_was_signed_is_whole(decided: SmallService) -> None:
    found = verified(decided)
    assert failing(found) == {}
    assert [step.about for step in found.steps] == ["What was shown", "The signature", "The record", "The audit trail"]
    assert found.statement is not None
    assert found.statement["person"] == "Mira, T-mira"


def test_a_receipt_finds_its_signature(decided: SmallService) -> None:
    with decided.database.reading() as session:
        full = session.scalars(select(Signature.signature_hash)).one()
        for receipt in (full, full[:16], f"  {full[:20].upper()} "):
            assert signature_by_receipt(session, receipt).signature_hash == full
        with pytest.raises(NotFound):
            signature_by_receipt(session, "0" * 16)
        for wrong in ("", full[:15], full + "0", "g" * 16, "%" * 16):
            with pytest.raises(BadInput):
                signature_by_receipt(session, wrong)


@pytest.mark.parametrize(
    ("field", "value", "about"),
    [
        ("outcome", "'restricted'", "The record"),
        ("last_valid_day", "'2030-01-01'", "The record"),
        ("reason", "'another reason'", "The record"),
        ("conditions", "'none'", "The record"),
        ("profile_revision", "2", "The record"),
        ("evidence_ids", "'[]'", "The record"),
        ("person_id", "decided_by", "The record"),
        ("decided_at", "'2026-03-02T08:00:00.000000Z'", "The audit trail"),
        ("decided_by", "person_id", "The audit trail"),
        ("valid_from", "'2020-01-01'", "The audit trail"),
        ("second_by", "'ffff'", "The audit trail"),
        ("voided_at", "'2026-03-02T10:00:00.000000Z'", "The audit trail"),
    ],
)
def test_a_changed_field_of_the_record_is_named(decided: SmallService, field: str, value: str, about: str) -> None:
    tampered(decided, f"UPDATE decision SET {field} = {value} WHERE competency = 'C8'")
    found = failing(verified(decided))
    assert about in found
    assert "The audit trail" in found
    if about == "The record":
        assert found["The record"].startswith("C8: the ")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("printed_name", "'Somebody Else'"), ("staff_number", "'X-1'"), ("role", "'assessor'"), ("zone", "'UTC'"),
        ("meaning", "'voids'"), ("meaning_text", "'I saw nothing.'"), ("how", "'by post'"), ("record_id", "'1'"),
        ("record_type", "'standard'"), ("base_id", "'1'"), ("local_time", "'2026-03-02T09:00:01+00:00'"),
        ("signed_at", "'2026-03-02T09:00:01.000000Z'"), ("person_id", "record_id"),
    ],
)  # fmt: skip
def test_a_changed_field_of_the_signature_is_named(decided: SmallService, field: str, value: str) -> None:
    tampered(decided, f"UPDATE signature SET {field} = {value}")
    with decided.database.reading() as session:
        found = failing(verify_signature(session, session.scalars(select(Signature)).one()))
    assert "changed" in found["The signature"]


def test_changed_bytes_and_a_changed_hash_are_named(decided: SmallService) -> None:
    tampered(decided, "UPDATE signature SET shown = CAST(replace(CAST(shown AS TEXT), 'C8', 'C9') AS BLOB)")
    found = failing(verified(decided))
    assert "signed was" in found["What was shown"]
    assert found["The record"] == "C9: the record is gone; C8: this record was not among what was shown"
    tampered(decided, "UPDATE signature SET record_hash = 'x', shown = x'ff'")
    assert "What was shown" in failing(verified(decided))


def test_a_changed_row_of_the_trail_is_named(decided: SmallService) -> None:
    other = "CAST(replace(CAST(body AS TEXT), 'competent', 'other') AS BLOB)"
    tampered(decided, f"UPDATE audit SET body = {other} WHERE event = 'decision_signed'")
    assert "of the audit trail was changed" in failing(verified(decided))["The audit trail"]


def test_a_removed_record_is_named(decided: SmallService) -> None:
    tampered(decided, "DELETE FROM decision WHERE competency = 'C8'")
    assert failing(verified(decided))["The record"] == "C8: the record is gone"


def test_a_name_that_changes_later_alters_no_signature(decided: SmallService) -> None:
    with decided.database.writing() as session:
        session.get_one(Person, decided.person_id("ines")).name = "Ines Other"
    assert failing(verified(decided)) == {}


def test_amended_voided_and_countersigned_decisions_stay_whole(decided: SmallService, library: Library) -> None:
    with decided.database.reading() as session:
        first = session.scalars(select(Decision).where(Decision.competency == "C8")).one().id
    wanted = AmendmentWanted(
        outcome=Outcome.COMPETENT, last_valid_day=date(2026, 9, 1), conditions="",
        reason="Looked at again in autumn.", why="The interval was written wrongly.",
    )  # fmt: skip
    later = decided.now + timedelta(hours=1)
    with decided.acting("ines", at=later) as act:
        newest = sign_amendment(act, library, prepare_amendment(act, library, first, wanted), password=PASSWORD)
    with decided.acting("ines", at=later + timedelta(hours=1)) as act:
        void_id = sign_void(act, prepare_void(act, newest, reason="The wrong person was meant"), password=PASSWORD)
    assert failing(verified(decided, meaning="proposes to void")) == {}
    with decided.acting("cleo", at=later + timedelta(hours=2)) as act:
        settling = prepare_settling(act, void_id, confirm=True, reason="I looked at it as well")
        sign_void(act, settling, password=PASSWORD)
    for meaning in ("decides", "amends", "proposes to void", "voids"):
        assert failing(verified(decided, meaning=meaning)) == {}


def test_a_standard_is_compared_with_what_was_signed(decided: SmallService, library: Library) -> None:
    with decided.acting("ines") as act:
        draft_id = begin_draft(act, library)
        agreed = {"reason": "the year taught us this", "agreed_by": "both educators"}
        change_general(act, draft_id, revision=1, changed=agreed)
        sign_standard(act, library, prepare_standard(act, library, draft_id), password=PASSWORD)
    assert failing(verified(decided, meaning="puts in force")) == {}
    tampered(decided, "UPDATE standard_requirement SET validity_months = 24 WHERE competency = 'C8'")
    found = failing(verified(decided, meaning="puts in force"))
    assert found["The record"] == "the standard: the requirements are not what was shown"
