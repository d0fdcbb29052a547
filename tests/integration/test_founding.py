"""A fresh database has no account; two people found the service, once."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from small_service import CountedRandomness
from sqlalchemy import func, select
from sqlalchemy.exc import IntegrityError

from quizapp.errors import BadInput, Conflict
from quizapp.services.found_service import FoundingAdministrator, FoundingBase, ServiceWanted, found_service
from quizapp.services.sign_in import sign_in
from quizapp.store.accounts import Account, AccountInvitation
from quizapp.store.audit import AuditRow
from quizapp.store.database import Database
from quizapp.store.people import FoundingPerson, Service
from quizapp.store.roles import RoleGrant

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
ADA = FoundingAdministrator(staff_number="A-1", name="Ada Stone", sign_in_name="Ada")
BEA = FoundingAdministrator(staff_number="A-2", name="Bea Moss", sign_in_name="bea")
WANTED = ServiceWanted(
    name="Low Fell Rescue",
    zone="Europe/London",
    bases=[
        FoundingBase(code="LF", name="Low Fell", setting="road"),
        FoundingBase(code="HF", name="High", setting="hill"),
    ],
    administrators=[ADA, BEA],
)


def found(database: Database, wanted: ServiceWanted = WANTED) -> list[str]:
    with database.writing() as session:
        founded = found_service(session, NOW, CountedRandomness("e"), wanted)
    return [invitation.code for invitation in founded.invitations]


def counts(database: Database) -> list[int]:
    with database.reading() as session:
        tables = (Service, Account, RoleGrant, FoundingPerson, AccountInvitation, AuditRow)
        return [session.scalar(select(func.count()).select_from(table)) or 0 for table in tables]


def test_a_fresh_database_has_no_account_and_no_role(database: Database) -> None:
    assert counts(database) == [0, 0, 0, 0, 0, 0]


def test_founding_makes_two_administrators_without_passwords(database: Database) -> None:
    codes = found(database)
    assert counts(database) == [1, 2, 2, 2, 2, 3]
    assert len(set(codes)) == 2
    with database.reading() as session:
        accounts = session.scalars(select(Account).order_by(Account.sign_in_name)).all()
        assert [(one.sign_in_name, one.password_hash) for one in accounts] == [("ada", None), ("bea", None)]
        kept = session.scalars(select(AccountInvitation)).all()
    assert all(code.replace("-", "") not in one.code_hash for code in codes for one in kept)
    assert {one.ends_at - one.created_at for one in kept} == {timedelta(days=7)}


@pytest.mark.parametrize("guess", ["", "ada", "nobody has this pass-phrase, it only takes the same time"])
def test_an_account_without_a_password_cannot_be_signed_in_to(sqlite_database: Database, guess: str) -> None:
    found(sqlite_database)
    with sqlite_database.writing() as session:
        assert sign_in(session, NOW, CountedRandomness("d"), name="ada", password=guess).token is None


def test_a_second_founding_is_refused(database: Database) -> None:
    found(database)
    with pytest.raises(Conflict, match="founded here already"):
        found(database, replace(WANTED, name="Other"))
    assert counts(database) == [1, 2, 2, 2, 2, 3]


def test_the_database_itself_refuses_a_second_founding(database: Database) -> None:
    found(database)
    with pytest.raises(IntegrityError), database.writing() as session:
        session.add(Service(id=f"{1:032x}", name="Other", zone="UTC", is_demo=False, founded_at=NOW))


def test_the_founding_is_on_the_audit_trail(database: Database) -> None:
    found(database)
    with database.reading() as session:
        rows = session.scalars(select(AuditRow).order_by(AuditRow.seq)).all()
    assert [(row.actor_id, row.event) for row in rows] == [
        ("system", "chain_begun"),
        ("system", "founded"),
        ("system", "founded"),
    ]
    assert b"Ada" not in b"".join(row.body for row in rows)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"zone": "Europe/Nowhere"}, "zone"),
        ({"bases": []}, "base"),
        ({"bases": [WANTED.bases[0], replace(WANTED.bases[1], code="lf")]}, "base"),
        ({"bases": [replace(WANTED.bases[0], setting=" ")]}, "base"),
        ({"bases": [replace(WANTED.bases[0], code="L F")]}, "base"),
        ({"administrators": WANTED.administrators[:1]}, "administrator"),
        ({"administrators": [*WANTED.administrators, WANTED.administrators[0]]}, "administrator"),
        ({"administrators": [ADA, replace(BEA, staff_number="a-1")]}, "administrator"),
        ({"administrators": [ADA, replace(BEA, sign_in_name="ADA")]}, "administrator"),
    ],
)  # fmt: skip
def test_what_cannot_be_founded_is_refused_and_leaves_nothing(
    sqlite_database: Database, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        found(sqlite_database, replace(WANTED, **changed))  # type: ignore[arg-type]
    assert refused.value.field == field
    assert counts(sqlite_database) == [0, 0, 0, 0, 0, 0]
