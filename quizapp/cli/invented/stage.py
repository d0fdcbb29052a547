"""Where the invented history is played: a database, the content, a seeded source of chance, and acts at moments."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from argon2 import PasswordHasher
from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.sign_in import actor_of
from quizapp.store.accounts import Account
from quizapp.store.database import Database

ZONE = ZoneInfo("Europe/London")
MONTHS_OF_HISTORY_DAYS = 548
WORKING_PASSWORD = "while the invented past is played"  # noqa: S105 - replaced before anybody can sign in


class SeededRandomness:
    """Ids and seeds that are the same in every run, so that two demos are alike; codes are never handed out."""

    def __init__(self, seed: int) -> None:
        """Begin the stream."""
        self.chance = Random(seed)  # noqa: S311 - invented data, not a secret

    def new_id(self) -> str:
        """Return 32 hex digits."""
        return f"{self.chance.getrandbits(128):032x}"

    def seed(self) -> str:
        """Return 64 hex digits."""
        return f"{self.chance.getrandbits(256):064x}"

    def secret(self) -> str:
        """Return 43 characters' worth of hex digits."""
        return f"{self.chance.getrandbits(172):043x}"


@dataclass
class Stage:
    """Everything a scene needs. People are known by staff number, bases by code."""

    database: Database
    library: Library
    today: date
    randomness: SeededRandomness
    people: dict[str, str] = field(default_factory=dict)
    bases: dict[str, str] = field(default_factory=dict)
    actors: dict[str, tuple[date, Actor]] = field(default_factory=dict)

    @property
    def chance(self) -> Random:
        """The source of chance of the story itself."""
        return self.randomness.chance

    @property
    def first_day(self) -> date:
        """The day on which the service was founded."""
        return self.today - timedelta(days=MONTHS_OF_HISTORY_DAYS)

    def moment(self, day: int, hour: int = 9, minute: int = 0) -> datetime:
        """Return a moment so many days after the founding."""
        local = datetime.combine(self.first_day + timedelta(days=day), time(hour, minute), ZONE)
        return local.astimezone(ZoneInfo("UTC"))

    @contextmanager
    def acting(self, staff_number: str, at: datetime) -> Iterator[Act]:
        """Open a writing unit in which a person acts at a moment."""
        with self.database.writing() as session:
            yield self.act(session, staff_number, at)

    def act(self, session: Session, staff_number: str, at: datetime) -> Act:
        """Return an act of a person in an open unit."""
        return Act(
            session=session,
            actor=self._actor(session, staff_number, at.date()),
            now=at,
            randomness=self.randomness,
            zone=ZONE,
        )

    def _actor(self, session: Session, staff_number: str, day: date) -> Actor:
        """Return a person as an actor; roles change on their own days only, so one look a day is enough."""
        known = self.actors.get(staff_number)
        if known is None or known[0] != day or day == self.first_day:
            known = (day, actor_of(session, self.people[staff_number]))
            self.actors[staff_number] = known
        return known[1]

    def give_working_passwords(self) -> None:
        """Let everybody sign with one cheap password while the past is played; real ones replace it at the end."""
        cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(WORKING_PASSWORD)
        with self.database.writing() as session:
            for account in session.query(Account):
                account.password_hash = cheap

    def take_working_passwords_away(self) -> None:
        """Leave no account that opens with the cheap password."""
        with self.database.writing() as session:
            for account in session.query(Account):
                account.password_hash = None
                account.password_set_at = None
