"""The list of people as administrators see it: base, roles, account; no clinical records."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import Select, func, or_, select

from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role, RoleHeld
from quizapp.errors import BadInput, NotFound
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.services.sign_in import roles_of
from quizapp.store.accounts import Account
from quizapp.store.people import Person, RescueBase

MOST_LISTED = 500


class AccountState(StrEnum):
    """How far a person's account is."""

    NONE = "none"
    INVITED = "invited"
    ACTIVE = "active"
    CLOSED = "closed"

    @property
    def words(self) -> str:
        """The state in a few words."""
        return {"none": "no account", "invited": "no password yet", "active": "active", "closed": "closed"}[self.value]


@dataclass(frozen=True, kw_only=True)
class PersonLine:
    """One person with what an administrator needs to know; `roles` are those held today, in words."""

    person_id: str
    staff_number: str
    name: str
    profession: str
    email: str
    base_id: str
    base_name: str
    joined_on: date
    left_on: date | None
    engaged_until: date | None
    roles: tuple[str, ...]
    account: AccountState
    sign_in_name: str
    password_set_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class BaseName:
    """A base for a list of choices."""

    id: str
    code: str
    name: str


def bases(act: Act) -> tuple[BaseName, ...]:
    """Return all bases by name."""
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name))
    return tuple(BaseName(id=row.id, code=row.code, name=row.name) for row in rows)


def people_listed(act: Act, search: str = "") -> tuple[PersonLine, ...]:
    """Return the people of whose name or staff number `search` is a part, those who left last, by name; 500 at most.

    Three statements whatever their number.
    """
    require_right(act, Right.IMPORT_PEOPLE)
    wanted = _people().order_by(Person.left_on.is_not(None), Person.name, Person.staff_number).limit(MOST_LISTED)
    text = search.strip()
    if text:
        in_either = [column.icontains(text, autoescape=True) for column in (Person.name, Person.staff_number)]
        wanted = wanted.where(or_(*in_either))
    return _lines(act, wanted)


def people_count(act: Act) -> int:
    """Return how many people belong to the service today."""
    return act.session.scalar(select(func.count()).select_from(Person).where(Person.left_on.is_(None))) or 0


def person_listed(act: Act, person_id: str) -> PersonLine:
    """Return one person; raise NotFound where there is none."""
    require_right(act, Right.IMPORT_PEOPLE)
    found = _lines(act, _people().where(Person.id == person_id))
    if not found:
        raise NotFound("There is no such person.")
    return found[0]


def person_with_number(act: Act, staff_number: str) -> str:
    """Return the id of the person with a staff number, whatever its case; raise BadInput where there is none."""
    number = staff_number.strip()
    found = act.session.scalar(select(Person.id).where(func.lower(Person.staff_number) == number.casefold()))
    if found is None:
        raise BadInput("Nobody here has that staff number.", field="staff_number")
    return found


def name_of(act: Act, person_id: str) -> str:
    """Return somebody's printed name, "" where there is no such person."""
    return act.session.scalar(select(Person.name).where(Person.id == person_id)) or ""


def own_line(act: Act) -> PersonLine:
    """Return the actor's own entry."""
    return _lines(act, _people().where(Person.id == act.actor.person_id))[0]


def _people() -> Select[Person, RescueBase, Account]:
    return (
        select(Person, RescueBase, Account)
        .join(RescueBase, RescueBase.id == Person.base_id)
        .outerjoin(Account, Account.person_id == Person.id)
    )


def _lines(act: Act, people: Select[Person, RescueBase, Account]) -> tuple[PersonLine, ...]:
    rows = act.session.execute(people).all()
    held = roles_of(act.session, [person.id for person, _, _ in rows])
    names = {base.id: base.name for base in bases(act)}
    return tuple(
        PersonLine(
            person_id=person.id,
            staff_number=person.staff_number,
            name=person.name,
            profession=person.profession,
            email=person.email or "",
            base_id=base.id,
            base_name=base.name,
            joined_on=person.joined_on,
            left_on=person.left_on,
            engaged_until=person.engaged_until,
            roles=_words(held[person.id], names, act.today),
            account=account_state(account),
            sign_in_name=account.sign_in_name if account else "",
            password_set_at=account.password_set_at if account else None,
        )
        for person, base, account in rows
    )


def account_state(account: Account | None) -> AccountState:
    """Return how far an account is."""
    if account is None:
        return AccountState.NONE
    if not account.is_active:
        return AccountState.CLOSED
    return AccountState.ACTIVE if account.password_hash else AccountState.INVITED


def _words(held: Iterable[RoleHeld], base_names: dict[str, str], today: date) -> tuple[str, ...]:
    order = list(Role)
    today_held = sorted(
        (one for one in held if one.is_held_on(today)), key=lambda one: (order.index(one.role), one.base_id or "")
    )
    return tuple(f"{one.role.words}, {place_words(one.base_id, base_names)}" for one in today_held)


def place_words(base_id: str | None, base_names: dict[str, str]) -> str:
    """Say where a role is held."""
    return "whole service" if base_id is None else base_names.get(base_id, "another base")
