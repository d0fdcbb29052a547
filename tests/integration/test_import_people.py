"""A roster is taken over whole or not at all, leaves its trace, and changes nothing the second time."""

from __future__ import annotations

import time
from datetime import date

import pytest
from small_service import SmallService
from sqlalchemy import event, func, select

from quizapp.assessment.roles import Role
from quizapp.assessment.roster_plan import RosterPlan
from quizapp.errors import BadInput, ContentFaults, NotAllowed
from quizapp.services.import_people import import_people, plan_import
from quizapp.services.last_assessors import bases_losing_their_assessors
from quizapp.services.sign_in import roles_of
from quizapp.store.accounts import Account
from quizapp.store.audit import AuditRow
from quizapp.store.challenges import Message
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant

HEADER = "staff_number,name,profession,base,joined_on,email,sign_in_name\n"
ROSTER = (
    HEADER + "N-1,Nils Berg,doctor,CAI,2026-01-05,n@x.org,nils\n"
    "T-mira,Mira Holm,flight paramedic,SKE,2025-01-01,,mira\n"
    "T-tor,Tor,flight paramedic,CAI,2025-01-01,,tor\n"
)


def take_over(small: SmallService, text: str, by: str = "ada") -> RosterPlan:
    with small.acting(by) as act:
        return import_people(act, content=text.encode(), path="r.csv")


def state(small: SmallService) -> list[int]:
    with small.database.reading() as session:
        tables = (Person, Account, RoleGrant, AuditRow)
        return [session.scalar(select(func.count()).select_from(table)) or 0 for table in tables]


def leave_by_file(small: SmallService, text: str, *names: str) -> None:
    with small.acting("ada") as act:
        import_people(act, content=text.encode(), path="r.csv", leaving=[small.person_id(name) for name in names])


def told(small: SmallService) -> list[tuple[str, str]]:
    with small.database.reading() as session:
        rows = session.scalars(select(Message).where(Message.about == "base"))
        return [(bytes.fromhex(one.person_id).decode().rstrip("\0"), one.text.split(".")[0]) for one in rows]


def test_only_those_chosen_leave(small: SmallService) -> None:
    leave_by_file(small, ROSTER, "una")
    with small.database.reading() as session:
        assert session.get_one(Person, small.person_id("una")).left_on == date(2026, 3, 2)
        assert session.get_one(Person, small.person_id("petra")).left_on is None
        held = roles_of(session, [small.person_id("una")])[small.person_id("una")]
    assert not any(one.is_held_on(date(2026, 3, 2)) for one in held)
    assert told(small) == []


def test_nobody_in_the_file_leaves_and_nobody_leaves_by_accident(small: SmallService) -> None:
    before = state(small)
    with pytest.raises(BadInput, match="is in the file"):
        leave_by_file(small, ROSTER, "tor")
    with pytest.raises(NotAllowed, match="their own leaving"):
        leave_by_file(small, ROSTER, "ada")
    assert state(small) == before


def test_the_last_assessor_who_goes_is_told_to_the_lead(small: SmallService) -> None:
    """Tor moves by the file and Una is marked: then nobody who belongs to Cairnlow is an assessor."""
    with small.acting("ada") as act:
        both = [small.person_id("tor"), small.person_id("una")]
        assert bases_losing_their_assessors(act, both[:1]) == []
        assert [base.name for base in bases_losing_their_assessors(act, both)] == ["Cairnlow"]
    leave_by_file(small, HEADER + "T-tor,Tor,flight paramedic,SKE,2025-01-01,,tor\n", "una")
    assert told(small) == [("leif", "The last assessor of Cairnlow left or moved")]


def test_movers_are_told_apart(small: SmallService) -> None:
    with small.acting("ada") as act:
        plan = plan_import(act, content=ROSTER.encode(), path="r.csv")
    assert [one.row.staff_number for one in plan.movers] == ["T-mira"]
    assert [one.staff_number for one in plan.absent][:2] == ["T-ada", "T-bea"]


def test_a_dry_run_changes_nothing(small: SmallService) -> None:
    before = state(small)
    with small.acting("ada") as act:
        plan = plan_import(act, content=ROSTER.encode(), path="r.csv")
    assert (len(plan.new), len(plan.changed), plan.same_count, plan.absent_count) == (1, 1, 1, 8)
    assert state(small) == before


def test_new_people_are_clinicians_with_an_account_and_movers_take_their_role_along(small: SmallService) -> None:
    take_over(small, ROSTER)
    with small.database.reading() as session:
        nils = session.scalars(select(Person).where(Person.staff_number == "N-1")).one()
        mira = session.get_one(Person, small.person_id("mira"))
        held = roles_of(session, [nils.id, mira.id])
        account = session.scalars(select(Account).where(Account.person_id == nils.id)).one()
    today = date(2026, 3, 2)
    assert [(one.role, one.base_id) for one in held[nils.id]] == [(Role.CLINICIAN, small.base_id)]
    assert [(one.role, one.base_id) for one in held[mira.id] if one.is_held_on(today)] == [
        (Role.CLINICIAN, small.other_base_id)
    ]
    assert (account.sign_in_name, account.password_hash, account.is_active) == ("nils", None, True)
    assert (mira.name, mira.base_id) == ("Mira Holm", small.other_base_id)


def test_every_change_leaves_its_own_row_without_a_name(small: SmallService) -> None:
    take_over(small, ROSTER)
    with small.database.reading() as session:
        rows = session.scalars(select(AuditRow).order_by(AuditRow.seq)).all()
    assert [row.event for row in rows] == [
        "person_added", "role_granted", "account_created",
        "person_changed", "role_ended", "role_granted", "people_imported",
    ]  # fmt: skip
    assert b"1 new, 1 changed, 1 the same" in rows[-1].body
    assert not any(name in row.body for row in rows for name in (b"Nils", b"Holm", b"n@x.org"))


def test_the_same_file_twice_changes_nothing(small: SmallService) -> None:
    take_over(small, ROSTER)
    people, accounts, grants, _ = state(small)
    plan = take_over(small, ROSTER)
    assert (plan.new, plan.changed, plan.same_count) == ((), (), 3)
    assert state(small)[:3] == [people, accounts, grants]


def test_one_fault_refuses_the_whole_file(small: SmallService) -> None:
    before = state(small)
    with pytest.raises(ContentFaults) as refused:
        take_over(small, ROSTER + "N-2,Nora,nurse,XX,2026-13-01,,\n")
    assert [fault.line for fault in refused.value.faults] == [5, 5]
    assert state(small) == before


def test_an_empty_address_clears_it_and_a_new_sign_in_name_replaces_the_old(small: SmallService) -> None:
    take_over(small, ROSTER)
    take_over(small, HEADER + "N-1,Nils Berg,doctor,CAI,2026-01-05,,nils.b\n")
    with small.database.reading() as session:
        person = session.scalars(select(Person).where(Person.staff_number == "N-1")).one()
        name = session.scalar(select(Account.sign_in_name).where(Account.person_id == person.id))
    assert (person.email, name) == (None, "nils.b")


def test_an_account_is_added_to_a_known_person(small: SmallService) -> None:
    take_over(small, HEADER + "N-1,Nils Berg,doctor,CAI,2026-01-05,,\n")
    take_over(small, HEADER + "N-1,Nils Berg,doctor,CAI,2026-01-05,,nils\n")
    with small.database.reading() as session:
        assert session.scalar(select(Account.password_hash).where(Account.sign_in_name == "nils")) is None
        assert session.scalar(select(func.count()).select_from(Account)) == 11


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "cleo", "leif"])
def test_only_administrators_take_rosters_over(small_sqlite: SmallService, name: str) -> None:
    with pytest.raises(NotAllowed):
        take_over(small_sqlite, ROSTER, by=name)


def many(count: int) -> str:
    return HEADER + "".join(f"X-{n},Person {chr(97 + n % 26)},nurse,CAI,2026-01-01,,\n" for n in range(count))


def test_the_number_of_statements_does_not_grow_with_the_rows(small_sqlite: SmallService) -> None:
    def statements(count: int) -> int:
        seen: list[str] = []
        listen = (small_sqlite.database.engine, "before_cursor_execute", lambda *args: seen.append(args[2]))
        event.listen(*listen)
        with small_sqlite.acting("ada") as act:
            plan_import(act, content=many(count).encode(), path="r.csv")
        event.remove(*listen)
        return len(seen)

    assert statements(3) == statements(300)


def test_two_thousand_people_are_taken_over_in_one_go(small_sqlite: SmallService) -> None:
    """Measured on two shared cores: 100,000 rows in under a minute; this smaller file guards against a slow path."""
    started = time.monotonic()
    plan = take_over(small_sqlite, many(2000))
    assert len(plan.new) == 2000
    assert time.monotonic() - started < 30
