"""Builds the invented service in an empty database and says who can sign in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import PersonStanding
from quizapp.cli.invented.beginning import assessors_of, begin, educator_of
from quizapp.cli.invented.cast import SEED, Member, administrators, clinicians
from quizapp.cli.invented.crews import put_on_crews
from quizapp.cli.invented.knowledge import Forms
from quizapp.cli.invented.rounds import Rounds
from quizapp.cli.invented.stage import SeededRandomness, Stage
from quizapp.cli.invented.story import Story, write
from quizapp.content.library import Library
from quizapp.services.accounts import invite, set_password
from quizapp.services.act import Act, SystemRandomness
from quizapp.services.my_currency import waiting_assessments
from quizapp.services.person_standing import standings
from quizapp.services.sign_in import actor_of
from quizapp.store.database import Database
from quizapp.store.people import Person

PASS_PHRASE = "kettle violin harbour moss"  # noqa: S105 - printed at the start of every demo


@dataclass(frozen=True, kw_only=True)
class DemoAccount:
    """One account to try the demo with."""

    role: str
    name: str
    sign_in_name: str
    base: str


def build(database: Database, library: Library, now: datetime, say: Callable[[str], None]) -> None:
    """Play the whole story in an empty database; `say` is told how far it is."""
    zone = ZoneInfo("Europe/London")
    today = now.astimezone(zone).date()
    stage = Stage(database=database, library=library, today=today, randomness=SeededRandomness(SEED))
    members = clinicians(stage.first_day)
    say("Founding the invented service: three bases, sixty clinicians ...")
    begin(stage, members)
    forms = Forms(stage=stage, composer=educator_of(members, "CAI").staff_number)
    story = Story(stage=stage, members=members, rounds=Rounds(stage=stage, members=members, forms=forms))
    write(story)
    say(f"Playing eighteen months: {len(story.scenes)} scenes ...")
    story.play()
    put_on_crews(stage, members)
    stage.take_working_passwords_away()
    _open_accounts(stage, personas(database, library, members, now), now)


def personas(database: Database, library: Library, members: list[Member], now: datetime) -> list[DemoAccount]:
    """Choose one person for each role: the clinician is one who lapses soon and has a form waiting."""
    lead = next(one for one in members if one.base == "CAI" and Role.TEAM_LEAD in one.roles)
    chosen = [
        ("clinician", _lapsing_clinician(database, library, members, now)),
        ("assessor", assessors_of(members, "CAI")[0]),
        ("educator", educator_of(members, "CAI")),
        ("team_lead", lead),
        ("administrator", administrators()[0]),
        ("second_administrator", administrators()[1]),
    ]
    return [DemoAccount(role=role, name=one.name, sign_in_name=one.sign_in_name, base=one.base) for role, one in chosen]


def _lapsing_clinician(database: Database, library: Library, members: list[Member], now: datetime) -> Member:
    numbers = {one.staff_number: one for one in members if not one.roles and one.base == "CAI"}
    with database.reading() as session:
        people = list(session.scalars(select(Person).where(Person.staff_number.in_(numbers)).order_by(Person.name)))
        act = Act(
            session=session, actor=actor_of(session, people[0].id), now=now,
            randomness=SystemRandomness(), zone=ZoneInfo("Europe/London"),
        )  # fmt: skip
        found = standings(act, library, people)
        lapsing = [
            person
            for person in people
            if found[person.id].report.standing is PersonStanding.LAPSING and waiting_assessments(act, person)
        ]
    return numbers[(lapsing or people)[0].staff_number]


def _open_accounts(stage: Stage, accounts: list[DemoAccount], now: datetime) -> None:
    """Give the personas their pass-phrase the way everybody gets one: by an invitation from an administrator."""
    first, second = administrators()
    numbers = _staff_numbers(stage)
    for account in accounts:
        inviting = second if account.sign_in_name == first.sign_in_name else first
        with stage.database.writing() as session:
            act = stage.act(session, inviting.staff_number, now)
            code = invite(act, person_id=stage.people[numbers[account.name]]).code
            set_password(act, sign_in_name=account.sign_in_name, code=code, password=PASS_PHRASE)


def _staff_numbers(stage: Stage) -> dict[str, str]:
    with stage.database.reading() as session:
        return {row.name: row.staff_number for row in session.scalars(select(Person))}


def is_built(database: Database) -> bool:
    """Whether the database holds a service already."""
    with database.reading() as session:
        return session.scalar(select(Person.id).limit(1)) is not None
