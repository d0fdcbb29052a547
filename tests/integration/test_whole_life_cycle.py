"""The whole life cycle, played at random through the services; what must never happen is checked after every act."""

from __future__ import annotations

import itertools
import shutil
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import event

from quizapp.assessment.standing import Outcome, PersonStanding, ProfileRevision, StandingReport
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.void_decision import prepare_settling, prepare_void
from quizapp.store.database import Database
from quizapp.store.decisions import Decision, DecisionVoid, StandingEvent
from tests import life_cycle_checks as checks
from tests.life_cycle_acts import EDUCATORS, EVERYBODY, OBSERVED, REASON, Life
from tests.small_service import create_small_service

BEGIN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
DO_NOT_WAIT = "PRAGMA synchronous=OFF"  # nothing here outlives the test
PEOPLE, DECIDERS = (st.sampled_from(names) for names in (OBSERVED, EDUCATORS))
ACTORS = st.sampled_from(("ines", "cleo", "ines", "cleo", *EVERYBODY))
PROFILES = st.sampled_from([ProfileRevision(code="TV-A", revision=revision) for revision in (1, 1, 2)])
WATCHED_BY = st.sampled_from(["tor", "una", "cleo"])
SHOWN_MOSTLY = st.sampled_from([*["shown"] * 6, "not_shown"])
OUTCOMES = st.sampled_from([Outcome.COMPETENT, Outcome.COMPETENT, *Outcome])
CODES = st.sampled_from([["C5"], ["C8"], ["C5", "C8"]])
PLACES = st.integers(0, 30)
Said = dict[str, tuple[PersonStanding, str]]


class LifeCycle(RuleBasedStateMachine):
    """One service; each rule is one act of somebody, allowed or not."""

    new_file: Callable[[], Path]
    library: Library
    done: Counter[str]

    def __init__(self) -> None:
        super().__init__()
        database = Database(f"sqlite:///{self.new_file()}")
        event.listen(database.engine, "connect", lambda connection, _record: connection.execute(DO_NOT_WAIT))
        self.life = Life(small=create_small_service(database, BEGIN), library=self.library, done=self.done)
        self.frozen: dict[tuple[str, str], checks.Row] = {}
        self.ends: checks.Ends = {}
        self.known: list[tuple[datetime, Said]] = []

    def teardown(self) -> None:
        self.life.small.database.close()

    @initialize()
    def begin(self) -> None:
        self.life.begin()

    @rule(days=st.sampled_from([0, 0, 1, 3, 20, 60, 200]), minutes=st.integers(0, 1439))
    def time_passes(self, days: int, minutes: int) -> None:
        self.life.small.now += timedelta(days=days, minutes=minutes)

    @rule(who=PEOPLE, outcome=SHOWN_MOSTLY, profile=PROFILES, watched_by=WATCHED_BY, hands=st.booleans())
    def something_is_shown(
        self, who: str, outcome: str, profile: ProfileRevision, watched_by: str, hands: bool
    ) -> None:
        """A form on C5 and C8, and perhaps P06 for C8 under somebody else's eyes."""
        self.life.small.now += timedelta(minutes=1)
        for code in ("C5", "C8"):
            self.life.show(who, code, "", outcome, profile)
        if hands and watched_by != who:
            self.life.show(who, "C8", watched_by, "shown", profile)

    @rule(by=ACTORS, who=PEOPLE, codes=CODES, outcome=OUTCOMES, profile=PROFILES, second=ACTORS,
          until=st.integers(0, 300))  # fmt: skip
    def decide(
        self, by: str, who: str, codes: list[str], outcome: Outcome, profile: ProfileRevision, second: str, until: int
    ) -> None:
        self.life.decide(by, who, codes, outcome, profile, second, until)

    @rule(by=DECIDERS, who=PEOPLE, profile=PROFILES, watched_by=WATCHED_BY)
    def a_whole_round(self, by: str, who: str, profile: ProfileRevision, watched_by: str) -> None:
        """Everything shown, then decided on at once."""
        self.something_is_shown(who, "shown", profile, watched_by, hands=True)
        other = next(name for name in EDUCATORS if name != by)
        self.life.decide(by, who, ["C5", "C8"], Outcome.COMPETENT, profile, other, 0)

    @rule(by=ACTORS, place=PLACES, outcome=st.sampled_from(Outcome), days=st.integers(-200, 40))
    def amend(self, by: str, place: int, outcome: Outcome, days: int) -> None:
        row = self.life.picked(Decision, place)
        if row is not None:
            self.life.amend(by, row, outcome, days)

    @rule(by=ACTORS, place=PLACES)
    def propose_to_void(self, by: str, place: int) -> None:
        row = self.life.picked(Decision, place)
        if row is not None:
            self.life.void("void proposed", by, lambda act: prepare_void(act, row.id, reason=REASON))

    @rule(by=ACTORS, place=PLACES, confirm=st.booleans())
    def settle_a_void(self, by: str, place: int, confirm: bool) -> None:
        void = self.life.picked(DecisionVoid, place)
        if void is None or void.settled_at is not None:
            return
        what = "void confirmed" if confirm else "void declined"
        is_settled = self.life.void(
            what, by, lambda act: prepare_settling(act, void.id, confirm=confirm, reason=REASON)
        )  # fmt: skip
        if is_settled and confirm:
            self.life.was_voided(void)

    @rule(by=ACTORS, who=PEOPLE, kind=st.sampled_from(StandingEventKind), starts=st.integers(0, 20),
          lasts=st.integers(0, 40), code=st.sampled_from([None, "C5", "C8"]))  # fmt: skip
    def change_a_standing(
        self, by: str, who: str, kind: StandingEventKind, starts: int, lasts: int, code: str | None
    ) -> None:
        self.life.change(by, who, kind, starts, lasts, code)

    @rule(by=ACTORS, second=ACTORS, place=PLACES)
    def end_a_change(self, by: str, second: str, place: int) -> None:
        row = self.life.picked(StandingEvent, place)
        if row is not None:
            self.life.end(by, second, row)

    @precondition(lambda self: len(self.known) % 4 == 0)
    @rule(by=DECIDERS, code=st.sampled_from(["C5", "C8"]), months=st.integers(1, 24), sooner=st.booleans(),
          starts=st.integers(0, 30))  # fmt: skip
    def set_a_standard(self, by: str, code: str, months: int, sooner: bool, starts: int) -> None:
        self.life.set_standard(by, code, months, sooner, starts)

    @precondition(lambda self: len(self.known) % 4 == 2)
    @rule(by=st.sampled_from(["leif", "ines", "mira"]), revision=st.sampled_from([1, 2]), days=st.integers(-10, 20))
    def change_the_device(self, by: str, revision: int, days: int) -> None:
        self.life.change_device(by, revision, days)

    @invariant()
    def what_must_hold_holds(self) -> None:
        life, small = self.life, self.life.small
        reports = life.reports()
        with small.database.reading() as session:
            frozen = checks.frozen_rows(session)
            checks.assert_still_as_signed(self.frozen, frozen)
            checks.assert_signatures_fit(session)
            checks.assert_nobody_signs_for_themselves(session)
            for name, report in reports.items():
                checks.assert_nothing_current_past_its_date(session, small.person_id(name), report, small.now)
        ends = checks.ends_of(reports.items())
        checks.assert_no_time_was_added(self.ends, ends, decided_on=life.decided_on)
        self.frozen, self.ends, life.decided_on = frozen, {**self.ends, **ends}, set()
        self.known.append((small.now, said(reports)))

    @precondition(lambda self: len(self.known) > 1)
    @rule(place=st.integers(0, 1000))
    def a_minute_gone_by_is_as_it_was(self, place: int) -> None:
        minute, then = self.known[place % len(self.known)]
        if minute < self.life.small.now:
            assert said(self.life.reports(at=minute)) == then


def said(reports: dict[str, StandingReport]) -> Said:
    return {name: (report.standing, report.sentence) for name, report in reports.items()}


def play(tmp_path: Path, template: Path, library: Library, *, lives: int, acts: int) -> Counter[str]:
    """Play many lives; return how often each kind of act was allowed."""
    numbers = itertools.count()

    def new_file() -> Path:
        return Path(shutil.copyfile(template, tmp_path / f"{next(numbers)}.sqlite"))

    done: Counter[str] = Counter()
    parts = {"new_file": staticmethod(new_file), "library": library, "done": done}
    how = settings(max_examples=lives, stateful_step_count=acts, suppress_health_check=list(HealthCheck),
                   deadline=None, database=None, derandomize=True)  # fmt: skip
    run_state_machine_as_test(type("LifeCycleHere", (LifeCycle,), parts), settings=how)
    return done


def test_some_lives(tmp_path: Path, migrated_sqlite_file: Path, library: Library) -> None:
    done = play(tmp_path, migrated_sqlite_file, library, lives=8, acts=30)
    assert done["decided competent"] > 5
    assert {"amended", "void proposed", "standard", "device"} <= set(done)


@pytest.mark.soak
def test_many_lives(tmp_path: Path, migrated_sqlite_file: Path, library: Library) -> None:
    done = play(tmp_path, migrated_sqlite_file, library, lives=300, acts=80)
    assert {"decided restricted", "void confirmed", "void declined", "ended", *StandingEventKind} <= set(done)
