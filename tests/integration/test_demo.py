"""The invented service of the demo: believable, consistent, the same each time, and safe to sign in to."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from quizapp.assessment.fair_paths import PathKind
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import Outcome, PersonStanding
from quizapp.cli.invented.beginning import begin
from quizapp.cli.invented.cast import SEED, clinicians
from quizapp.cli.invented.service import PASS_PHRASE, DemoAccount, build, personas
from quizapp.cli.invented.stage import WORKING_PASSWORD, ZONE, SeededRandomness, Stage
from quizapp.content.library import Library
from quizapp.services.act import Act, SystemRandomness
from quizapp.services.base_readiness import BaseReadiness, base_readiness, bases_seen
from quizapp.services.decision_desk import waiting
from quizapp.services.double_observations import doubles_seen
from quizapp.services.fair_paths_list import paths_at_my_bases
from quizapp.services.log_use import use_counts
from quizapp.services.my_currency import NextKind, my_currency
from quizapp.services.passwords import matches
from quizapp.services.sign_in import actor_of, sign_in
from quizapp.services.signing import faults_of_signature
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.services.verify_records import verify_records
from quizapp.store.accounts import Account
from quizapp.store.audit import Signature
from quizapp.store.database import Database
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person, RescueBase, Service
from quizapp.store.roles import RoleGrant
from quizapp.store.sittings import Sitting

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TODAY = NOW.date()


@dataclass(frozen=True)
class Invented:
    """The service as built, and who can sign in."""

    database: Database
    accounts: dict[str, DemoAccount]

    def act(self, session: Session, role: str) -> Act:
        account = session.scalars(select(Account).where(Account.sign_in_name == self.accounts[role].sign_in_name)).one()
        actor = actor_of(session, account.person_id)
        return Act(session=session, actor=actor, now=NOW, randomness=SystemRandomness(), zone=ZONE)


@pytest.fixture(scope="session")
def invented(
    library: Library, migrated_sqlite_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Invented]:
    """Build it once; this takes as long as the demo takes to start for the first time."""
    database = opened_copy(migrated_sqlite_file, tmp_path_factory.mktemp("invented"))
    build(database, library, NOW, lambda _line: None)
    members = clinicians(TODAY)
    yield Invented(database, {one.role: one for one in personas(database, library, members, NOW)})
    database.close()


def opened_copy(file: Path, folder: Path) -> Database:
    shutil.copyfile(file, folder / "invented.sqlite")
    return Database(f"sqlite:///{folder / 'invented.sqlite'}")


@pytest.fixture(scope="session")
def by_base(invented: Invented, library: Library) -> dict[str, BaseReadiness]:
    """The readiness of each base, as an educator of the whole service sees it."""
    with invented.database.reading() as session:
        act = invented.act(session, "educator")
        return {base.code: base_readiness(act, library, base.id) for base in bases_seen(act)}


def test_sixty_clinicians_at_three_bases(invented: Invented) -> None:
    with invented.database.reading() as session:
        assert session.scalars(select(Service)).one().is_demo
        clinician = select(RoleGrant.person_id).where(RoleGrant.role == Role.CLINICIAN)
        rows = session.execute(
            select(RescueBase.code, func.count()).join(Person, Person.base_id == RescueBase.id)
            .where(Person.id.in_(clinician)).group_by(RescueBase.code)
        )  # fmt: skip
        assert dict(rows.tuples().all()) == {"CAI": 24, "SKE": 16, "POR": 20}
        names = list(session.scalars(select(Person.name)))
    assert len(set(names)) == len(names) == 62


def test_nine_people_on_the_mainland_lapse_within_thirty_days(by_base: dict[str, BaseReadiness]) -> None:
    ahead = [one for code in ("CAI", "POR") for one in by_base[code].readiness.ahead if one.days_left <= 30]
    assert sorted(one.days_left for one in ahead) == [3, 6, 9, 12, 15, 18, 21, 25, 29]


def test_some_lapsed_some_are_new_one_is_away_and_two_work_under_conditions(
    by_base: dict[str, BaseReadiness],
) -> None:
    found = Counter[PersonStanding]()
    for page in by_base.values():
        found.update(page.readiness.counts)
    assert sum(found.values()) == 60
    assert found[PersonStanding.LAPSED] == 4
    assert found[PersonStanding.PAUSED] == 1
    assert found[PersonStanding.RESTRICTED] == 2
    assert 3 <= found[PersonStanding.NOT_YET_SIGNED_OFF] <= 6
    assert found[PersonStanding.SUSPENDED] == found[PersonStanding.WITHDRAWN] == 0
    assert found[PersonStanding.CURRENT] + found[PersonStanding.LAPSING] >= 45


def test_the_island_stands_on_the_second_revision_but_for_one(by_base: dict[str, BaseReadiness]) -> None:
    island = by_base["SKE"].readiness
    assert {one.profile.revision for one in island.competencies} == {2}
    assert island.counts[PersonStanding.NOT_YET_SIGNED_OFF] == 1
    assert {one.profile.revision for one in by_base["CAI"].readiness.competencies} == {1}


def test_one_person_was_told_not_yet_twice(invented: Invented) -> None:
    with invented.database.reading() as session:
        rows = session.execute(
            select(Decision.person_id, func.count(func.distinct(Decision.signature_id)))
            .where(Decision.outcome == Outcome.NOT_YET).group_by(Decision.person_id)
        ).tuples()  # fmt: skip
        assert [times for _person, times in rows] == [2]


def test_every_signature_and_the_audit_chain_hold(invented: Invented) -> None:
    with invented.database.reading() as session:
        signatures = list(session.scalars(select(Signature)))
        assert len(signatures) > 100
        assert [one.id for one in signatures if faults_of_signature(one)] == []
        signed = set(session.scalars(select(Decision.signature_id).where(Decision.origin == "decided_here")))
        assert signed <= {one.id for one in signatures}
        found = verify_stored_chain(session)
        compared, differing = verify_records(session, found.seals)
    assert (found.rows > 1000, list(found.faults)) == (True, [])
    assert (compared > 5000, differing) == (True, [])


def test_everything_happened_in_the_past_and_in_order(invented: Invented) -> None:
    with invented.database.reading() as session:
        decisions = {row.id: row for row in session.scalars(select(Decision))}
        evidence = {row.id: row for row in session.scalars(select(Evidence))}
        handed_in = list(session.execute(select(Sitting.started_at, Sitting.submitted_at)).tuples())
    assert max(row.decided_at for row in decisions.values()) < NOW
    assert all(row.happened_at < NOW for row in evidence.values())
    assert all(start < end < NOW for start, end in handed_in if end is not None)
    for decision in decisions.values():
        for reference in decision.evidence_ids:
            assert evidence[reference].person_id == decision.person_id
            assert evidence[reference].happened_at < decision.decided_at
            assert evidence[reference].assessor_id != decision.person_id


def test_nobody_opens_an_account_with_the_working_password(invented: Invented) -> None:
    with invented.database.reading() as session:
        accounts = list(session.scalars(select(Account)))
    opened = {account.sign_in_name for account in accounts if account.password_hash is not None}
    assert opened == {one.sign_in_name for one in invented.accounts.values()}
    assert not any(matches(account.password_hash, WORKING_PASSWORD) for account in accounts if account.password_hash)


def test_each_persona_signs_in(invented: Invented) -> None:
    roles = ["clinician", "assessor", "educator", "team_lead", "administrator", "second_administrator"]
    assert list(invented.accounts) == roles
    for account in invented.accounts.values():
        with invented.database.writing() as session:
            found = sign_in(session, NOW, SystemRandomness(), name=account.sign_in_name, password=PASS_PHRASE)
            assert found.token is not None, account
            session.rollback()


def test_each_persona_finds_work(invented: Invented, library: Library) -> None:
    """The clinician lapses soon and has a form to sit; somebody waits for the educator, complete."""
    with invented.database.reading() as session:
        page = my_currency(invented.act(session, "clinician"), library)
        assert page.report.standing is PersonStanding.LAPSING
        assert page.next_act.kind is NextKind.SIT
        desks = waiting(invented.act(session, "educator"), library)
        assert 2 <= len(desks) <= 12
        assert desks[0].missing_count == 0
        assert base_readiness(invented.act(session, "team_lead"), library).base.code == "CAI"


def test_the_same_seed_and_day_give_the_same_people(
    invented: Invented, library: Library, migrated_sqlite_file: Path, tmp_path: Path
) -> None:
    again = opened_copy(migrated_sqlite_file, tmp_path)
    stage = Stage(database=again, library=library, today=TODAY, randomness=SeededRandomness(SEED))
    begin(stage, clinicians(stage.first_day))
    assert people_of(again) == people_of(invented.database)
    again.close()


def people_of(database: Database) -> list[tuple[object, ...]]:
    columns = (Person.id, Person.staff_number, Person.name, Person.profession, Person.base_id, Person.joined_on)
    with database.reading() as session:
        return [tuple(row) for row in session.execute(select(*columns).order_by(Person.staff_number))]


def test_another_day_gives_the_same_names(invented: Invented) -> None:
    names = {member.name for member in clinicians(TODAY + timedelta(days=200))}
    with invented.database.reading() as session:
        assert names <= set(session.scalars(select(Person.name)))


def test_two_assessors_marked_the_same_performances_and_one_pair_waits_for_an_educator(invented: Invented) -> None:
    with invented.database.reading() as session:
        lines = doubles_seen(invented.act(session, "educator"))
    assert len(lines) == 6
    assert [line.title for line in lines if line.needs_a_decision] == ["P06 Cycling stops"]


def test_paths_discussions_and_uses_are_there_to_look_at(invented: Invented, library: Library) -> None:
    with invented.database.reading() as session:
        educator = invented.act(session, "educator")
        assert {(one.kind, one.about) for one in paths_at_my_bases(educator)} == {
            (PathKind.NEWCOMER, ""), (PathKind.NOT_SHOWN_TWICE, "P06"),
        }  # fmt: skip
        counts = use_counts(educator)
        discussed = Counter(session.scalars(select(Evidence.outcome).where(Evidence.kind == EvidenceKind.DISCUSSION)))
    assert (counts.uses, counts.is_enough) == (30, True)
    assert discussed == {EvidenceOutcome.SHOWN: 2, EvidenceOutcome.NOT_SHOWN: 1}
