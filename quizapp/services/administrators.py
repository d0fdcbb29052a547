"""Keeps the service from losing its last administrator who can sign in."""

from __future__ import annotations

from sqlalchemy import or_, select

from quizapp.assessment.roles import Role
from quizapp.errors import Conflict
from quizapp.services.act import Act
from quizapp.store.accounts import Account
from quizapp.store.people import Person, Service
from quizapp.store.roles import RoleGrant


def active_administrators(act: Act) -> frozenset[str]:
    """Return the people who hold the role today, belong to the service and have set a password."""
    held = (
        select(RoleGrant.person_id)
        .join(Account, Account.person_id == RoleGrant.person_id)
        .join(Person, Person.id == RoleGrant.person_id)
        .where(
            RoleGrant.role == Role.ADMINISTRATOR.value,
            RoleGrant.from_day <= act.today,
            or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today),
            or_(RoleGrant.ended_on.is_(None), RoleGrant.ended_on > act.today),
            Account.is_active.is_(True),
            Account.password_hash.is_not(None),
            Person.left_on.is_(None),
        )
    )
    return frozenset(act.session.scalars(held))


def refuse_to_lose_the_last(act: Act, person_id: str) -> None:
    """Raise Conflict when nobody else could administer the service after this person.

    Locks the service's row first, so that two administrators cannot remove each other at the same moment.
    """
    act.session.scalar(select(Service.id).with_for_update())
    active = active_administrators(act)
    if person_id in active and len(active) == 1:
        raise Conflict(
            "This is the last administrator who can sign in. Nothing was changed. "
            "Let a second administrator be granted and set a password first."
        )
