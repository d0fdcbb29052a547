"""A small invented service for tests: two bases, one person per role, and acts on their behalf."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from argon2 import PasswordHasher
from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor
from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.services.sign_in import roles_of
from quizapp.store.accounts import Account
from quizapp.store.database import Database
from quizapp.store.people import Person, RescueBase, Service
from quizapp.store.roles import RoleGrant

ZONE = ZoneInfo("Europe/London")
PASSWORD = "plain granite harbour lantern"
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
FIRST_DAY = date(2025, 1, 1)
CAST = {
    "mira": (Role.CLINICIAN,),
    "tor": (Role.CLINICIAN, Role.ASSESSOR),
    "una": (Role.CLINICIAN, Role.ASSESSOR),
    "ines": (Role.EDUCATOR,),
    "cleo": (Role.EDUCATOR, Role.CLINICAL_LEAD),
    "leif": (Role.TEAM_LEAD,),
    "ada": (Role.ADMINISTRATOR,),
    "bea": (Role.ADMINISTRATOR,),
}
ELSEWHERE = {"petra": (Role.CLINICIAN,), "olaf": (Role.TEAM_LEAD,)}


class CountedRandomness:
    """Ids, seeds and secrets that count upwards, so that a run can be repeated."""

    def __init__(self, prefix: str = "f") -> None:
        self._prefix = prefix
        self._count = itertools.count(1)

    def new_id(self) -> str:
        return f"{self._prefix}{next(self._count):031x}"

    def seed(self) -> str:
        return f"{next(self._count):064x}"

    def secret(self) -> str:
        return f"secret-{next(self._count):036d}"


@dataclass
class SmallService:
    """The service in one database; people are named by their first names."""

    database: Database
    now: datetime
    randomness: CountedRandomness = field(default_factory=CountedRandomness)
    base_id: str = "b" * 32
    other_base_id: str = "c" * 32

    def person_id(self, name: str) -> str:
        return name.encode().hex().ljust(32, "0")

    @contextmanager
    def acting(self, name: str, *, at: datetime | None = None) -> Iterator[Act]:
        """Open a writing unit in which the named person acts; it commits at the end of the block."""
        with self.database.writing() as session:
            yield self.act(session, name, at=at)

    def act(self, session: Session, name: str, *, at: datetime | None = None) -> Act:
        person_id = self.person_id(name)
        actor = Actor(
            person_id=person_id,
            account_id=person_id,
            name=name.title(),
            roles_held=roles_of(session, [person_id])[person_id],
        )
        return Act(session=session, actor=actor, now=at or self.now, randomness=self.randomness, zone=ZONE)


def create_small_service(database: Database, now: datetime) -> SmallService:
    """Write the service straight into the store (the founding itself has its own tests)."""
    small = SmallService(database=database, now=now)
    with database.writing() as session:
        session.add(
            Service(
                id=small.randomness.new_id(),
                name="Thornmere Isles Rescue",
                zone=ZONE.key,
                is_demo=False,
                founded_at=now,
            )
        )
        session.add(RescueBase(id=small.base_id, code="CAI", name="Cairnlow", setting="mountain"))
        session.add(RescueBase(id=small.other_base_id, code="SKE", name="Skerrandy", setting="island"))
        session.flush()
        for cast, base_id in ((CAST, small.base_id), (ELSEWHERE, small.other_base_id)):
            for name, roles in cast.items():
                _add_person(session, small, name, roles, base_id)
    return small


def _add_person(session: Session, small: SmallService, name: str, roles: tuple[Role, ...], base_id: str) -> None:
    person_id = small.person_id(name)
    session.add(
        Person(
            id=person_id,
            staff_number=f"T-{name}",
            name=name.title(),
            profession="flight paramedic",
            base_id=base_id,
            email=None,
            joined_on=FIRST_DAY,
            left_on=None,
            created_at=small.now,
        )
    )
    session.flush()
    session.add(
        Account(
            id=person_id,
            person_id=person_id,
            sign_in_name=name,
            password_hash=CHEAP.hash(PASSWORD),
            is_active=True,
            created_at=small.now,
        )
    )
    for role in roles:
        session.add(_role(small, person_id, role, base_id))


def _role(small: SmallService, person_id: str, role: Role, base_id: str) -> RoleGrant:
    return RoleGrant(
        id=small.randomness.new_id(),
        person_id=person_id,
        role=role.value,
        base_id=None if role is Role.ADMINISTRATOR else base_id,
        from_day=FIRST_DAY,
        until_day=None,
        granted_by=None,
        second_by=None,
        reason="test",
        granted_at=small.now,
        ended_at=None,
    )
