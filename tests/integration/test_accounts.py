"""Accounts are opened by single-use codes; nobody sets another's password; closing ends everything at once."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from small_service import PASSWORD, SmallService
from sqlalchemy import select, update
from sqlalchemy.exc import IntegrityError

from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.accounts import (
    Invitation,
    change_password,
    create_account,
    deactivate_account,
    invite,
    reactivate_account,
    set_password,
)
from quizapp.services.grant_role import end_role
from quizapp.services.people import PersonEntered, add_person, leave_person
from quizapp.services.sign_in import sign_in, who_is_signed_in
from quizapp.store.accounts import Account, AccountInvitation
from quizapp.store.roles import RoleGrant

NEW_PASSWORD = "seven kettles under the pier"


def newcomer(small: SmallService, name: str = "Nils Berg", number: str = "N-1") -> str:
    entered = PersonEntered(
        staff_number=number, name=name, profession="doctor", base_id=small.base_id, email="", joined_on=date(2026, 3, 1)
    )
    with small.acting("ada") as act:
        return add_person(act, entered)


def invited(small: SmallService, person_id: str) -> Invitation:
    with small.acting("ada") as act:
        return invite(act, person_id=person_id)


def signed_in(small: SmallService, name: str, password: str, at: datetime | None = None) -> str | None:
    with small.database.writing() as session:
        return sign_in(session, at or small.now, small.randomness, name=name, password=password).token


def is_signed_in(small: SmallService, token: str) -> bool:
    with small.database.reading() as session:
        return who_is_signed_in(session, small.now, token) is not None


def with_code(
    small: SmallService, code: str, password: str = NEW_PASSWORD, at: datetime | None = None, name: str = "mira"
) -> None:
    with small.acting("una", at=at) as act:
        set_password(act, sign_in_name=name, code=code, password=password)


def test_a_newcomer_sets_a_first_password_by_code(small: SmallService) -> None:
    person_id = newcomer(small)
    with small.acting("ada") as act:
        create_account(act, person_id=person_id, sign_in_name=" Nils.B ")
    code = invited(small, person_id).code
    assert signed_in(small, "nils.b", NEW_PASSWORD) is None
    with_code(small, code.upper().replace("-", " "), name=" NILS.B ")
    assert signed_in(small, "nils.b", NEW_PASSWORD) is not None


@pytest.mark.parametrize("wait", [timedelta(minutes=30), timedelta(days=8)])
def test_a_reset_code_ends_after_half_an_hour(small: SmallService, wait: timedelta) -> None:
    code = invited(small, small.person_id("mira")).code
    with pytest.raises(BadInput, match="too old"):
        with_code(small, code, at=small.now + wait)
    assert signed_in(small, "mira", PASSWORD) is not None


def test_a_first_code_lasts_seven_days(small: SmallService) -> None:
    person_id = newcomer(small)
    with small.acting("ada") as act:
        create_account(act, person_id=person_id, sign_in_name="nils")
    code = invited(small, person_id).code
    with pytest.raises(BadInput, match="too old"):
        with_code(small, code, at=small.now + timedelta(days=7), name="nils")
    with_code(small, code, at=small.now + timedelta(days=7, seconds=-1), name="nils")


def test_a_code_works_once_and_a_newer_one_replaces_it(small: SmallService) -> None:
    first = invited(small, small.person_id("mira")).code
    second = invited(small, small.person_id("mira")).code
    with pytest.raises(BadInput, match="too old"):
        with_code(small, first)
    with_code(small, second)
    with pytest.raises(BadInput, match="too old"):
        with_code(small, second)


def test_unknown_used_expired_and_foreign_codes_are_refused_in_the_same_words(small_sqlite: SmallService) -> None:
    used = invited(small_sqlite, small_sqlite.person_id("mira")).code
    with_code(small_sqlite, used)
    expired = invited(small_sqlite, small_sqlite.person_id("tor")).code
    good, refusals = invited(small_sqlite, small_sqlite.person_id("leif")).code, set()
    tries = [(used, 0), (expired, 1), (good, 0), ("0" * 32, 0), ("", 0), ("é" * 40, 0), ("\ud800", 0)]
    for code, days in tries:
        with pytest.raises(BadInput) as refused:
            with_code(small_sqlite, code, at=small_sqlite.now + timedelta(days=days))
        refusals.add((str(refused.value), refused.value.field))
    assert len(refusals) == 1


def test_a_new_password_ends_the_sessions_that_were_open(small: SmallService) -> None:
    token = signed_in(small, "mira", PASSWORD)
    assert token is not None
    code = invited(small, small.person_id("mira")).code
    assert is_signed_in(small, token)
    with_code(small, code)
    assert not is_signed_in(small, token)
    assert signed_in(small, "mira", PASSWORD) is None


def test_the_code_is_kept_as_a_hash_with_who_started_it(small: SmallService) -> None:
    code = invited(small, small.person_id("mira")).code
    with small.database.reading() as session:
        kept = session.scalars(select(AccountInvitation)).one()
    assert kept.started_by == small.person_id("ada")
    assert code.replace("-", "") not in (kept.code_hash, kept.id)


@pytest.mark.parametrize("password", ["short", "Mira Mira Mira Mira", "x" * 257, "thornmere isles rescue"])
def test_weak_passwords_are_refused_and_the_code_stays_good(small_sqlite: SmallService, password: str) -> None:
    code = invited(small_sqlite, small_sqlite.person_id("mira")).code
    with pytest.raises(BadInput) as refused:
        with_code(small_sqlite, code, password)
    assert refused.value.field == "password"
    with_code(small_sqlite, code)


def test_one_changes_ones_own_password_and_keeps_only_this_session(small: SmallService) -> None:
    here, there = signed_in(small, "mira", PASSWORD), signed_in(small, "mira", PASSWORD)
    assert here is not None
    assert there is not None
    with small.database.reading() as session:
        found = who_is_signed_in(session, small.now, here)
        assert found is not None
    with small.acting("mira") as act:
        change_password(act, current=PASSWORD, new=NEW_PASSWORD, session_id=found.session_id)
    assert (is_signed_in(small, here), is_signed_in(small, there)) == (True, False)
    assert signed_in(small, "mira", NEW_PASSWORD) is not None


@pytest.mark.parametrize(
    ("current", "new", "field"),
    [("wrong", NEW_PASSWORD, "password"), (PASSWORD, PASSWORD, "new_password"), (PASSWORD, "short", "new_password")],
)
def test_a_change_of_password_is_refused(small_sqlite: SmallService, current: str, new: str, field: str) -> None:
    with small_sqlite.acting("mira") as act, pytest.raises(BadInput) as refused:
        change_password(act, current=current, new=new, session_id="")
    assert refused.value.field == field
    assert signed_in(small_sqlite, "mira", PASSWORD) is not None


def test_a_deactivated_account_ends_its_sessions_and_codes_at_once(small: SmallService) -> None:
    token = signed_in(small, "mira", PASSWORD)
    assert token is not None
    code = invited(small, small.person_id("mira")).code
    with small.acting("ada") as act:
        deactivate_account(act, person_id=small.person_id("mira"))
    assert not is_signed_in(small, token)
    assert signed_in(small, "mira", PASSWORD) is None
    with pytest.raises(BadInput, match="too old"):
        with_code(small, code)


def test_an_account_made_active_again_has_no_password_and_no_session_of_before(small: SmallService) -> None:
    token = signed_in(small, "mira", PASSWORD) or ""
    with small.acting("ada") as act:
        deactivate_account(act, person_id=small.person_id("mira"))
        reactivate_account(act, person_id=small.person_id("mira"))
    assert not is_signed_in(small, token)
    assert signed_in(small, "mira", PASSWORD) is None
    with_code(small, invited(small, small.person_id("mira")).code)
    assert signed_in(small, "mira", NEW_PASSWORD) is not None


def without_bea(small: SmallService) -> None:
    with small.acting("ada") as act:
        deactivate_account(act, person_id=small.person_id("bea"))


def test_the_last_administrator_cannot_be_deactivated_end_the_role_or_leave(small: SmallService) -> None:
    without_bea(small)
    ada = small.person_id("ada")
    with small.acting("ada") as act, pytest.raises(Conflict, match="last administrator"):
        deactivate_account(act, person_id=ada)
    with small.acting("ada") as act:
        grant = act.session.scalars(select(RoleGrant).where(RoleGrant.person_id == ada)).one()
        with pytest.raises(Conflict, match="last administrator"):
            end_role(act, grant_id=grant.id)
    with small.acting("bea") as act, pytest.raises(Conflict, match="last administrator"):
        leave_person(act, person_id=ada, left_on=act.today)


def test_an_administrator_without_a_password_does_not_count(small: SmallService) -> None:
    with small.database.writing() as session:
        session.execute(update(Account).where(Account.sign_in_name == "bea").values(password_hash=None))
    with small.acting("bea") as act, pytest.raises(Conflict, match="last administrator"):
        deactivate_account(act, person_id=small.person_id("ada"))


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "cleo", "leif"])
def test_only_administrators_manage_accounts(small_sqlite: SmallService, name: str) -> None:
    with small_sqlite.acting(name) as act:
        for change in (invite, deactivate_account, reactivate_account):
            with pytest.raises(NotAllowed):
                change(act, person_id=small_sqlite.person_id("una"))


def test_nobody_starts_their_own_reset_or_reactivation(small_sqlite: SmallService) -> None:
    with small_sqlite.acting("ada") as act:
        for change in (invite, reactivate_account):
            with pytest.raises(NotAllowed):
                change(act, person_id=small_sqlite.person_id("ada"))


def test_names_and_accounts_are_unique(small: SmallService) -> None:
    person_id = newcomer(small)
    with small.acting("ada") as act:
        with pytest.raises(BadInput, match="belongs to somebody else"):
            create_account(act, person_id=person_id, sign_in_name="MIRA")
        with pytest.raises(Conflict, match="has an account"):
            create_account(act, person_id=small.person_id("mira"), sign_in_name="mira2")
        with pytest.raises(NotFound):
            create_account(act, person_id="0" * 32, sign_in_name="nobody")
    with pytest.raises(IntegrityError), small.acting("ada") as act:
        act.session.add(
            Account(id="1" * 32, person_id=person_id, sign_in_name="mira", is_active=True, created_at=small.now)
        )
