"""A service lived through act by act, tried as people try things: allowed or not; used by the whole life cycle test."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import Outcome, ProfileRevision, StandingReport
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import QuizappError
from quizapp.services.act import Act
from quizapp.services.amend_decision import AmendmentWanted, prepare_amendment, sign_amendment
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.draft_standard import begin_draft, change_general, change_requirement, draft
from quizapp.services.end_standing_change import end_standing_change
from quizapp.services.person_standing import standings
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.services.put_standard_in_force import prepare_standard, sign_standard
from quizapp.services.second_person import SecondPerson
from quizapp.services.sign_decision import prepare_decision, sign_decision
from quizapp.services.void_decision import sign_void
from quizapp.store.decisions import Decision, DecisionVoid, StandingEvent
from quizapp.store.devices import DeviceInService
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from tests import life_cycle_checks as checks
from tests.deciding import requirement, with_standard
from tests.small_service import FIRST_DAY, PASSWORD, SmallService

OBSERVED = ("mira", "tor", "cleo")
EVERYBODY = ("mira", "tor", "una", "ines", "cleo", "leif")
EDUCATORS = ("ines", "cleo")
REASON = "A reason that everybody may read"


@dataclass
class Life:
    """The service, what was done how often, and on whom a decision or void fell in the last act."""

    small: SmallService
    library: Library
    done: Counter[str]
    decided_on: set[tuple[str, str]] = field(default_factory=set)

    def begin(self) -> None:
        """A standard with C8 in two parts, a device, and Cleo, who is educator, assessor and clinician at once."""
        asked = (requirement("C5", knowledge=True), requirement("C8", knowledge=True, procedures=("P06",)))
        with_standard(self.small, self.library, *asked)
        with self.small.acting("ada") as act:
            act.session.add_all(
                RoleGrant(
                    id=act.randomness.new_id(), person_id=self.small.person_id("cleo"), role=role.value,
                    base_id=self.small.base_id, from_day=FIRST_DAY, reason="test", granted_at=self.small.now,
                    granted_by=None,
                )
                for role in (Role.CLINICIAN, Role.ASSESSOR)
            )  # fmt: skip

    def tried(self, what: str, *steps: Callable[[Act], Any], by: str) -> bool:
        """Try an act, each step a unit of its own that is given what the one before returned; a refusal is kept."""
        self.small.now += timedelta(minutes=1)
        given: tuple[Any, ...] = ()
        try:
            for step in steps:
                with self.small.acting(by) as act:
                    given = (step(act, *given),)
        except QuizappError:
            return False
        self.done[what] += 1
        return True

    def show(self, who: str, competency: str, assessor: str, outcome: str, profile: ProfileRevision) -> None:
        with self.small.acting("cleo") as act:
            act.session.add(
                Evidence(
                    id=act.randomness.new_id(), person_id=self.small.person_id(who), competency=competency,
                    kind="observation" if assessor else "sitting", source_id=act.randomness.new_id(),
                    procedure="P06" if assessor else None, outcome=outcome, summary=f"{competency} {outcome}",
                    counts_for_sign_off=True, profile_code=profile.code, profile_revision=profile.revision,
                    assessor_id=self.small.person_id(assessor) if assessor else None, details={"questions": 5},
                    happened_at=act.now, recorded_at=act.now,
                )
            )  # fmt: skip

    def decide(
        self, by: str, who: str, codes: list[str], outcome: Outcome, profile: ProfileRevision, second: str, until: int
    ) -> None:
        wanted = DecisionWanted(
            outcome=outcome, competencies=codes, reason=REASON, conditions="Works with a current colleague.",
            restricted_until=self.small.now.date() + timedelta(days=until), profile=profile,
        )  # fmt: skip
        person = SecondPerson(sign_in_name=second, password=PASSWORD)

        def sign(act: Act, intent_id: str) -> None:
            ids = sign_decision(act, self.library, intent_id, password=PASSWORD, second=person)
            for row in act.session.scalars(select(Decision).where(Decision.id.in_(ids))):
                if row.outcome == Outcome.COMPETENT:
                    checks.assert_carried_in_full(act.session, row, today=act.today)

        def prepare(act: Act) -> str:
            return prepare_decision(act, self.library, self.small.person_id(who), wanted)

        if self.tried(f"decided {outcome}", prepare, sign, by=by):
            assert by in EDUCATORS
            assert by != who
            self.decided_on |= {(who, code) for code in codes}

    def amend(self, by: str, row: Decision, outcome: Outcome, days: int) -> None:
        last_day = None if row.last_valid_day is None else row.last_valid_day + timedelta(days=days)
        wanted = AmendmentWanted(
            outcome=outcome, last_valid_day=last_day, conditions="Works with a current colleague.",
            reason=f"{REASON}, amended at {self.small.now}", why="It was written wrongly",
        )  # fmt: skip
        self.tried(
            "amended",
            lambda act: prepare_amendment(act, self.library, row.id, wanted),
            lambda act, intent_id: sign_amendment(act, self.library, intent_id, password=PASSWORD),
            by=by,
        )

    def void(self, what: str, by: str, prepare: Callable[[Act], str]) -> bool:
        return self.tried(
            what, prepare, lambda act, intent_id: sign_void(act, intent_id, password=PASSWORD), by=by
        )  # fmt: skip

    def was_voided(self, void: DecisionVoid) -> None:
        self.decided_on |= {(name, code) for name in OBSERVED for code in ("C5", "C8")
                            if self.small.person_id(name) == void.person_id}  # fmt: skip

    def change(self, by: str, who: str, kind: StandingEventKind, starts: int, lasts: int, code: str | None) -> None:
        first = self.small.now.date() + timedelta(days=starts)
        change = StandingChange(
            kind=kind, from_day=first, until_day=first + timedelta(days=lasts), reason=REASON, competency=code
        )  # fmt: skip
        self.tried(kind.value, lambda act: change_standing(act, self.small.person_id(who), change), by=by)

    def end(self, by: str, second: str, row: StandingEvent) -> None:
        person = SecondPerson(sign_in_name=second, password=PASSWORD)
        self.tried("ended", lambda act: end_standing_change(act, row.id, reason=REASON, second=person), by=by)

    def set_standard(self, by: str, code: str, months: int, sooner: bool, starts: int) -> None:
        first = self.small.now.date() + timedelta(days=starts)

        def write(act: Act) -> str:
            draft_id = begin_draft(act, self.library)
            written = draft(act, self.library, draft_id)
            general = {"reason": REASON, "agreed_by": REASON, "starts_on": max(first, written.terms.starts_on)}
            change_general(act, draft_id, revision=written.revision, changed=general)
            before = next(one for one in written.terms.requirements if one.competency == code)
            renew_by = general["starts_on"] + timedelta(days=starts) if sooner else None
            wanted = replace(before, validity_months=months, evidence_months=None, renew_by=renew_by)
            change_requirement(act, self.library, draft_id, revision=written.revision + 1, wanted=wanted)
            return draft_id

        self.tried(
            "standard",
            write,
            lambda act, draft_id: prepare_standard(act, self.library, draft_id),
            lambda act, intent_id: sign_standard(act, self.library, intent_id, password=PASSWORD),
            by=by,
        )

    def change_device(self, by: str, revision: int, days: int) -> None:
        day = self.small.now.date() + timedelta(days=days)

        def do(act: Act) -> None:
            there = DeviceInService.profile_revision == revision, DeviceInService.until_day.is_(None)
            row = act.session.scalars(select(DeviceInService).where(*there)).first()
            if row is not None:
                take_out_of_service(act, device_id=row.id, until_day=day)
            else:
                put_in_service(act, self.library, base_id=self.small.base_id, profile_code="TV-A",
                               profile_revision=revision, from_day=day)  # fmt: skip

        self.tried("device", do, by=by)

    def picked(self, model: type[Any], place: int) -> Any:
        """One stored row of a kind, None while there is none."""
        with self.small.database.reading() as session:
            rows = sorted(session.scalars(select(model)), key=lambda row: str(row.id))
        return rows[place % len(rows)] if rows else None

    def reports(self, at: datetime | None = None) -> dict[str, StandingReport]:
        with self.small.database.reading() as session:
            act = self.small.act(session, "ines")
            people = [session.get_one(Person, self.small.person_id(name)) for name in OBSERVED]
            found = standings(act, self.library, people, at=at)
        return {name: found[self.small.person_id(name)].report for name in OBSERVED}
