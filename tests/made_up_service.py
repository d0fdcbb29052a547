"""A small invented service for tests: two bases, one person for each role, and bystanders who must not matter."""

from __future__ import annotations

import functools
import random
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor
from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.services.passwords import hash_password, token_hash
from quizapp.services.sign_in import roles_of
from quizapp.store.accounts import Account, SessionRow
from quizapp.store.people import Person, RescueBase, Service
from quizapp.store.roles import RoleGrant

PASSWORD = "copper lantern drifts past seven"
ZONE = ZoneInfo("Europe/London")


class SeededRandomness:
    """Ids, seeds and secrets that are the same in every run."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def _hex(self, bits: int) -> str:
        return f"{self._random.getrandbits(bits):0{bits // 4}x}"

    def new_id(self) -> str:
        return self._hex(128)

    def seed(self) -> str:
        return self._hex(256)

    def secret(self) -> str:
        return self._hex(172)


@functools.cache
def password_hash() -> str:
    """The hash of PASSWORD, made once since it is slow on purpose."""
    return hash_password(PASSWORD)


@dataclass(frozen=True, kw_only=True)
class MadeUpPerson:
    """One person of the made-up service; `sign_in_name` goes with PASSWORD."""

    person_id: str
    account_id: str
    name: str
    sign_in_name: str
    base_id: str


@dataclass(frozen=True, kw_only=True)
class MadeUpService:
    """Who is there: every role at `base_id`, a second assessor and educator, and strangers at `other_base_id`."""

    base_id: str
    other_base_id: str
    clinician: MadeUpPerson
    assessor: MadeUpPerson
    second_assessor: MadeUpPerson
    educator: MadeUpPerson
    second_educator: MadeUpPerson
    clinical_lead: MadeUpPerson
    team_lead: MadeUpPerson
    administrator: MadeUpPerson
    second_administrator: MadeUpPerson
    stranger: MadeUpPerson
    strange_team_lead: MadeUpPerson


WHOLE_SERVICE = {Role.ADMINISTRATOR, Role.CLINICAL_LEAD}
ROLES_OF = {
    "clinician": (Role.CLINICIAN,),
    "assessor": (Role.CLINICIAN, Role.ASSESSOR),
    "second_assessor": (Role.CLINICIAN, Role.ASSESSOR),
    "educator": (Role.CLINICIAN, Role.EDUCATOR),
    "second_educator": (Role.CLINICIAN, Role.EDUCATOR),
    "clinical_lead": (Role.EDUCATOR, Role.CLINICAL_LEAD),
    "team_lead": (Role.CLINICIAN, Role.TEAM_LEAD),
    "administrator": (Role.ADMINISTRATOR,),
    "second_administrator": (Role.ADMINISTRATOR,),
    "stranger": (Role.CLINICIAN,),
    "strange_team_lead": (Role.CLINICIAN, Role.TEAM_LEAD),
}


class Founder:
    """Adds the made-up service's rows to an open session."""

    def __init__(self, session: Session, randomness: SeededRandomness, now: datetime) -> None:
        self.session, self.randomness, self.now = session, randomness, now

    def found(self) -> MadeUpService:
        """Add the service, both bases and everybody."""
        self._add(Service, name="Invented Valley Rescue", zone=ZONE.key, is_demo=False, founded_at=self.now)
        bases = [self.base("upper"), self.base("lower")]
        strangers = {"stranger", "strange_team_lead"}
        people = {name: self.person(name, bases[name in strangers], ROLES_OF[name]) for name in ROLES_OF}
        return MadeUpService(base_id=bases[0], other_base_id=bases[1], **people)

    def _add(self, kind: type, **values: object) -> str:
        row_id = self.randomness.new_id()
        self.session.add(kind(id=row_id, **values))
        self.session.flush()
        return row_id

    def base(self, code: str) -> str:
        """Add a base and return its id."""
        return self._add(RescueBase, code=code, name=f"{code.title()} base", setting="mountain")

    def person(self, name: str, base_id: str, roles: tuple[Role, ...]) -> MadeUpPerson:
        """Add a person with an account and roles held since the year before."""
        words = name.replace("_", " ").title()
        person_id = self._add(
            Person, staff_number=f"S-{name}", name=words, profession="paramedic", base_id=base_id, email=None,
            joined_on=date(2020, 1, 1), left_on=None, created_at=self.now,
        )  # fmt: skip
        account_id = self._add(
            Account, person_id=person_id, sign_in_name=name, password_hash=password_hash(), is_active=True,
            created_at=self.now,
        )  # fmt: skip
        for role in roles:
            self.grant(person_id, role, None if role in WHOLE_SERVICE else base_id)
        return MadeUpPerson(person_id=person_id, account_id=account_id, name=words, sign_in_name=name, base_id=base_id)

    def grant(self, person_id: str, role: Role, base_id: str | None) -> None:
        """Let a person hold a role, without end."""
        self._add(
            RoleGrant, person_id=person_id, role=role.value, base_id=base_id, from_day=date(2025, 1, 1),
            until_day=None, granted_by=None, second_by=None, reason="made up", granted_at=self.now, ended_at=None,
        )  # fmt: skip


def act_of(session: Session, person: MadeUpPerson, now: datetime, randomness: SeededRandomness) -> Act:
    """The act of one made-up person in an open session."""
    roles = roles_of(session, [person.person_id])[person.person_id]
    actor = Actor(person_id=person.person_id, account_id=person.account_id, name=person.name, roles_held=roles)
    return Act(session=session, actor=actor, now=now, randomness=randomness, zone=ZONE)


def signed_in_token(session: Session, person: MadeUpPerson, now: datetime, randomness: SeededRandomness) -> str:
    """Open a browser session for a made-up person and return the cookie's value."""
    token = randomness.secret()
    row = SessionRow(
        id=randomness.new_id(), token_hash=token_hash(token), account_id=person.account_id, started_at=now,
        last_seen_at=now, ends_at=now + timedelta(hours=12), ended_at=None,
    )  # fmt: skip
    session.add(row)
    return token
