"""A large invented service with ten years behind it, written straight into the store of either database."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from random import Random
from typing import Any

from sqlalchemy import insert

from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.store.columns import STORED_TIME
from quizapp.store.database import Database
from quizapp.store.decisions import Decision, StandingEvent
from quizapp.store.devices import DeviceInService
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant
from quizapp.store.shifts import CrewShift, ShiftMember
from tests.deciding import requirement, with_standard
from tests.small_service import FIRST_DAY, SmallService, create_small_service

COMPETENCIES = tuple(f"C{number}" for number in range(1, 11))
YEARS = 10
BASES = 40
IN_SMALL_BASE = 50
SEED = 20_262
ROWS_AT_ONCE = 50_000
SHARE_PAUSED = 0.02
DECISION_COLUMNS = (
    "id", "person_id", "base_id", "competency", "outcome", "origin", "reason", "conditions", "valid_from",
    "last_valid_day", "profile_code", "profile_revision", "standard_id", "evidence_ids", "decided_by", "decided_at",
)  # fmt: skip


class LargeService:
    """The service: a first base of fifty clinicians led by Leif, and everybody else on the other bases."""

    def __init__(self, database: Database, library: Library, now: datetime, people: int) -> None:
        """Write it all; `people` is the number of clinicians, the three of the small service among them."""
        self.small = create_small_service(database, now)
        with_standard(self.small, library, *(requirement(code, knowledge=True) for code in COMPETENCIES))
        self._chance = Random(SEED)
        self._count = 0
        self._now = now
        base_ids = self._bases()
        placed = self._people(base_ids, people)
        self._write_decisions(self._decisions(placed))
        self._leaves(placed)
        self._shifts([person for person, base in placed if base == self.small.base_id])
        self._analyze()

    def _id(self) -> str:
        self._count += 1
        return f"e{self._count:031x}"

    def _insert(self, table: Any, rows: Sequence[dict[str, Any]]) -> None:
        with self.small.database.engine.begin() as connection:
            connection.execute(insert(table), rows)

    def _bases(self) -> list[str]:
        others = [
            {"id": self._id(), "code": f"B{number}", "name": f"Base {number:02d}", "setting": "invented"}
            for number in range(3, BASES + 1)
        ]
        self._insert(RescueBase, others)
        ids = [self.small.base_id, self.small.other_base_id, *(one["id"] for one in others)]
        self._insert(DeviceInService, [
            {"id": self._id(), "base_id": base_id, "profile_code": "TV-A", "profile_revision": 1,
             "from_day": FIRST_DAY, "until_day": None, "recorded_by": self.small.person_id("leif"),
             "recorded_at": self._now - timedelta(days=400), "taken_out_at": None}
            for base_id in ids[1:]
        ])  # fmt: skip
        lead = {"id": self._id(), "person_id": self.small.person_id("olaf"), "role": Role.TEAM_LEAD.value,
                "base_id": None, "from_day": FIRST_DAY, "until_day": None, "granted_by": None, "second_by": None,
                "reason": "invented", "recognised": False, "granted_at": self._now}  # fmt: skip
        self._insert(RoleGrant, [lead])
        return ids

    def _people(self, base_ids: Sequence[str], number: int) -> list[tuple[str, str]]:
        """Add clinicians: the first base gets fifty with those it has, the others share the rest evenly."""
        here = [(self.small.person_id(name), self.small.base_id) for name in ("mira", "tor", "una")]
        places = [self.small.base_id] * (IN_SMALL_BASE - len(here))
        rest = number - len(here) - len(places)
        places += [base_ids[1 + at % (len(base_ids) - 1)] for at in range(rest)]
        added = [(self._id(), base_id) for base_id in places]
        self._insert(Person, [
            {"id": one, "staff_number": f"L-{at}", "name": f"Person {at:05d}", "profession": "paramedic",
             "base_id": base_id, "email": None, "joined_on": date(2015, 1, 1), "left_on": None,
             "created_at": self._now}
            for at, (one, base_id) in enumerate(added)
        ])  # fmt: skip
        self._insert(RoleGrant, [
            {"id": self._id(), "person_id": one, "role": Role.CLINICIAN.value, "base_id": base_id,
             "from_day": FIRST_DAY, "until_day": None, "granted_by": None, "second_by": None, "reason": "invented",
             "recognised": False, "granted_at": self._now}
            for one, base_id in added
        ])  # fmt: skip
        return here + added

    def _decisions(self, placed: Iterable[tuple[str, str]]) -> Iterator[tuple[Any, ...]]:
        """Give a decision a year for each competency of each person, the last one ending around today."""
        educator, today = self.small.person_id("ines"), self._now.date()
        for person, base_id in placed:
            ends_in = self._chance.randint(-20, 340)
            for number, competency in enumerate(COMPETENCIES):
                # Two rounds a year, five competencies in each.
                last = today + timedelta(days=ends_in + 10 * (number % 2))
                for year in range(YEARS):
                    end = last - timedelta(days=365 * year)
                    start = end - timedelta(days=364)
                    at = datetime.combine(start, time(15), UTC).strftime(STORED_TIME)
                    yield (
                        self._id(), person, base_id, competency, "competent", "decided", "everything was shown", None,
                        start.isoformat(), end.isoformat(), "TV-A", 1, None, "[]", educator, at,
                    )  # fmt: skip

    def _write_decisions(self, rows: Iterator[tuple[Any, ...]]) -> None:
        database, names = self.small.database, ", ".join(DECISION_COLUMNS)
        with database.engine.begin() as connection:
            raw: Any = connection.connection.cursor()
            if database.is_sqlite:
                raw.executemany(f"INSERT INTO {Decision.__tablename__} ({names}) VALUES ({', '.join('?' * 16)})", rows)
                return
            # In parts, since no statement may run for long.
            while part := list(islice(rows, ROWS_AT_ONCE)):
                with raw.copy(f"COPY {Decision.__tablename__} ({names}) FROM STDIN") as copied:
                    for row in part:
                        copied.write_row(row)

    def _leaves(self, placed: Sequence[tuple[str, str]]) -> None:
        away = self._chance.sample(list(placed), int(len(placed) * SHARE_PAUSED))
        self._insert(StandingEvent, [
            {"id": self._id(), "person_id": person, "kind": "paused", "competency": None,
             "from_day": self._now.date() - timedelta(days=20), "until_day": self._now.date() + timedelta(days=30),
             "reason": "on leave", "recorded_by": self.small.person_id("ines"), "recorded_at": self._now}
            for person, _ in away
        ])  # fmt: skip

    def _shifts(self, people: Sequence[str]) -> None:
        """Put two crews of two on day and night for three weeks at the first base."""
        start = datetime.combine(self._now.date(), time(7), UTC)
        shifts, members = [], []
        for half in range(42):
            begins = start + timedelta(hours=12 * half)
            free = self._chance.sample(list(people), 4)
            for crew in range(2):
                shift_id, ends = self._id(), begins + timedelta(hours=12)
                shifts.append(
                    {"id": shift_id, "base_id": self.small.base_id, "crew": f"Crew {crew}", "starts_at": begins,
                     "ends_at": ends, "confirmed_at": self._now, "confirmed_by": self.small.person_id("leif"),
                     "known_cover": "covered", "removed_at": None}
                )  # fmt: skip
                members += [
                    {"shift_id": shift_id, "person_id": one, "crew_role": "paramedic", "from_at": begins,
                     "until_at": ends}
                    for one in free[crew * 2 : crew * 2 + 2]
                ]  # fmt: skip
        self._insert(CrewShift, shifts)
        self._insert(ShiftMember, members)

    def _analyze(self) -> None:
        """Let the database know what it holds, as a running service would."""
        with self.small.database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("ANALYZE")


def large_service(database: Database, library: Library, now: datetime, people: int) -> SmallService:
    """Write a large service into an empty migrated database and return it for acting in."""
    return LargeService(database, library, now, people).small
