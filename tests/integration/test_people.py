"""People join as clinicians, move with their role, leave with everything ended at once, and may come back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from small_service import PASSWORD, SmallService
from sqlalchemy import event, func, select
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.roles import Role, roles_on
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.import_people import import_people
from quizapp.services.people import (
    PersonEntered,
    add_person,
    change_person,
    leave_person,
    move_person,
    return_person,
)
from quizapp.services.people_list import people_listed
from quizapp.services.role_lists import roles_in_force
from quizapp.services.sign_in import roles_of, sign_in, who_is_signed_in
from quizapp.store.accounts import Account
from quizapp.store.audit import AuditRow
from quizapp.store.people import Person

TODAY = date(2026, 3, 2)


def entered(small: SmallService, **changed: object) -> PersonEntered:
    plain = PersonEntered(
        staff_number="N-1", name="Nils Berg", profession="doctor", base_id=small.base_id, email="", joined_on=TODAY
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def add(small: SmallService, **changed: object) -> str:
    with small.acting("ada") as act:
        return add_person(act, entered(small, **changed))


def roles_today(small: SmallService, person_id: str, base_id: str | None = None) -> set[Role]:
    with small.database.reading() as session:
        held = roles_of(session, [person_id])[person_id]
    return set(roles_on([one for one in held if base_id is None or one.base_id == base_id], TODAY))


def test_a_new_person_is_a_clinician_of_the_base(small: SmallService) -> None:
    person_id = add(small)
    assert roles_today(small, person_id, small.base_id) == {Role.CLINICIAN}
    with small.database.reading() as session:
        assert [row.event for row in session.scalars(select(AuditRow).order_by(AuditRow.seq))] == [
            "person_added",
            "role_granted",
        ]


def test_whoever_joins_later_is_a_clinician_later(small: SmallService) -> None:
    assert roles_today(small, add(small, joined_on=TODAY + timedelta(days=1))) == set()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"staff_number": "t-MIRA"}, "staff_number"),
        ({"staff_number": "1.2E+05"}, "staff_number"),
        ({"name": "Nils\x00"}, "name"),
        ({"profession": ""}, "profession"),
        ({"email": "nobody"}, "email"),
        ({"base_id": "0" * 32}, "base_id"),
    ],
    ids=str,
)
def test_what_cannot_be_added(small: SmallService, changed: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        add(small, **changed)
    assert refused.value.field == field


def test_the_database_knows_a_staff_number_in_any_case(small: SmallService) -> None:
    person = Person(
        id="1" * 32, staff_number="T-MIRA", name="X", profession="x", base_id=small.base_id, email=None,
        joined_on=TODAY, left_on=None, created_at=small.now,
    )  # fmt: skip
    with pytest.raises(IntegrityError), small.database.writing() as session:
        session.add(person)


def test_a_change_names_the_fields_and_never_the_words(small: SmallService) -> None:
    with small.acting("ada") as act:
        change_person(act, person_id=small.person_id("mira"), name="Mira Holm", profession="flight paramedic", email="")
        change_person(act, person_id=small.person_id("mira"), name="Mira Holm", profession="flight paramedic", email="")
    with small.database.reading() as session:
        row = session.scalars(select(AuditRow)).one()
    assert b'"thing":"name"' in row.body
    assert b"Holm" not in row.body


def test_a_move_takes_the_clinicians_role_along_and_no_other(small: SmallService) -> None:
    tor = small.person_id("tor")
    with small.acting("ada") as act:
        move_person(act, person_id=tor, base_id=small.other_base_id)
    assert roles_today(small, tor, small.base_id) == {Role.ASSESSOR}
    assert roles_today(small, tor, small.other_base_id) == {Role.CLINICIAN}
    with small.acting("ada") as act, pytest.raises(Conflict):
        move_person(act, person_id=tor, base_id=small.other_base_id)
    with small.acting("ada") as act, pytest.raises(BadInput):
        move_person(act, person_id=tor, base_id="0" * 32)


def test_leaving_ends_account_sessions_and_roles_at_once_and_keeps_the_person(small: SmallService) -> None:
    tor = small.person_id("tor")
    with small.database.writing() as session:
        token = sign_in(session, small.now, small.randomness, name="tor", password=PASSWORD).token or ""
    with small.acting("ada") as act:
        leave_person(act, person_id=tor, left_on=TODAY)
    with small.database.reading() as session:
        assert who_is_signed_in(session, small.now, token) is None
        assert session.get_one(Person, tor).name == "Tor"
        assert session.scalar(select(Account.is_active).where(Account.person_id == tor)) is False
    assert roles_today(small, tor) == set()
    with small.acting("ada") as act, pytest.raises(Conflict):
        leave_person(act, person_id=tor, left_on=TODAY)


@pytest.mark.parametrize("days", [1, -5000])
def test_a_last_day_lies_neither_in_the_future_nor_before_joining(small_sqlite: SmallService, days: int) -> None:
    with small_sqlite.acting("ada") as act, pytest.raises(BadInput):
        leave_person(act, person_id=small_sqlite.person_id("tor"), left_on=TODAY + timedelta(days=days))


def test_whoever_comes_back_is_a_clinician_with_a_closed_account(small: SmallService) -> None:
    tor = small.person_id("tor")
    with small.acting("ada") as act:
        leave_person(act, person_id=tor, left_on=TODAY - timedelta(days=1))
        with pytest.raises(BadInput):
            return_person(act, person_id=tor, base_id=small.base_id, joined_on=TODAY - timedelta(days=1))
        return_person(act, person_id=tor, base_id=small.other_base_id, joined_on=TODAY)
    assert roles_today(small, tor) == {Role.CLINICIAN}
    with small.database.reading() as session:
        assert session.scalar(select(Account.is_active).where(Account.person_id == tor)) is False


def test_nobody_does_these_for_themselves(small_sqlite: SmallService) -> None:
    ada = small_sqlite.person_id("ada")
    with small_sqlite.acting("ada") as act:
        with pytest.raises(NotAllowed):
            move_person(act, person_id=ada, base_id=small_sqlite.other_base_id)
        with pytest.raises(NotAllowed):
            leave_person(act, person_id=ada, left_on=TODAY)


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "cleo", "leif"])
def test_only_administrators_change_the_list_of_people(small_sqlite: SmallService, name: str) -> None:
    una = small_sqlite.person_id("una")
    with small_sqlite.acting(name) as act:
        with pytest.raises(NotAllowed):
            add_person(act, entered(small_sqlite))
        with pytest.raises(NotAllowed):
            change_person(act, person_id=una, name="X", profession="x", email="")
        with pytest.raises(NotAllowed):
            move_person(act, person_id=una, base_id=small_sqlite.other_base_id)
        with pytest.raises(NotAllowed):
            leave_person(act, person_id=una, left_on=TODAY)
        with pytest.raises(NotAllowed):
            return_person(act, person_id=una, base_id=small_sqlite.base_id, joined_on=TODAY)


def test_an_unknown_person_is_not_found(small_sqlite: SmallService) -> None:
    with small_sqlite.acting("ada") as act:
        with pytest.raises(NotFound):
            change_person(act, person_id="0" * 32, name="X", profession="x", email="")
        with pytest.raises(NotFound):
            return_person(act, person_id="0" * 32, base_id=small_sqlite.base_id, joined_on=TODAY)
        assert act.session.scalar(select(func.count()).select_from(Person)) == 10


def test_the_list_asks_as_often_for_three_hundred_people_as_for_ten(small: SmallService) -> None:
    def statements() -> int:
        seen: list[str] = []
        listen = (small.database.engine, "before_cursor_execute", lambda *args: seen.append(args[2]))
        event.listen(*listen)
        with small.acting("ada") as act:
            people_listed(act)
            roles_in_force(act)
        event.remove(*listen)
        return len(seen)

    before = statements()
    rows = "".join(f"X-{n},Person,nurse,CAI,2026-01-01\n" for n in range(300))
    header = "staff_number,name,profession,base,joined_on\n"
    with small.acting("ada") as act:
        import_people(act, content=(header + rows).encode(), path="r.csv")
    assert statements() == before


def test_a_search_takes_its_signs_as_they_are(small: SmallService) -> None:
    add(small, name="Per O'Neill", staff_number="50_1")
    with small.acting("ada") as act:
        assert [one.name for one in people_listed(act, " o'NEILL ")] == ["Per O'Neill"]
        assert [one.name for one in people_listed(act, "50_")] == ["Per O'Neill"]
        assert people_listed(act, "%") == ()
