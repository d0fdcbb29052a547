"""Twelve months of three clinicians, played through the services: one keen, one who practises little, one on leave.

Everything happens on fixed days, so every run tells the same year.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from quizapp.assessment.fair_paths import PathKind, PathOutcome, StepName
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from quizapp.services.fair_paths import PathWanted, StepWanted, close_path, open_path, record_step
from quizapp.services.leaves import begin_leave
from quizapp.services.practice_today import practice_today
from quizapp.services.record_answer import Response, option_token, record_answer
from quizapp.services.sittings_of import AskedQuestion, asked_questions
from quizapp.services.start_sitting import start_practice, start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.accounts import Account
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from quizapp.store.sittings import Sitting
from tests.accepted_library import accept
from tests.deciding import decide, requirement, with_standard
from tests.knowledge_forms import PLAIN
from tests.observing import P06_IN_ORDER, Phone, locked, opened, sent, signed
from tests.small_service import CHEAP, FIRST_DAY, PASSWORD, SmallService

KEEN, SELDOM, AWAY = "kes", "bram", "yda"
THREE = (KEEN, SELDOM, AWAY)
SIGNED = ("C3", "C5", "C8")
LEAVE_BEGINS, LEAVE_ENDS = 60, 240
MONTHS = {0: 1, 3: 91, 6: 182, 9: 274, 12: 366}
"""The day on which each visit is made; the first one is the day after everybody was signed off, the
last one the day after the last valid day of who did not renew."""


@dataclass
class Year:
    """The service and its clock, moved forwards only; `days` holds what happens on which day."""

    small: SmallService
    library: Library
    clock: Any
    begun: datetime = field(init=False)
    days: dict[int, list[Callable[[], None]]] = field(default_factory=dict)
    played: int = -1

    def __post_init__(self) -> None:
        self.begun = self.small.now

    def until(self, day: int) -> None:
        """Play what happens before and on a day, and stay on it."""
        for one in sorted(at for at in self.days if self.played < at <= day):
            self._move(one)
            for happens in self.days[one]:
                happens()
        self.played = max(self.played, day)
        self._move(day)

    def _move(self, day: int) -> None:
        self.small.now = self.begun + timedelta(days=day)
        self.clock.advance(self.small.now - self.clock())

    def at(self, day: int, happens: Callable[[], None]) -> None:
        self.days.setdefault(day, []).append(happens)

    def form(self, title: str) -> str:
        """Compose a form of six questions and give it to everybody at the base."""
        small = self.small
        with small.acting("ines") as act:
            assessment_id = compose_assessment(act, self.library, Composition(
                title=title, parts=[Part(competency="C3", question_count=1), Part(competency="C5", question_count=2)],
                cut=2, cut_reason="two of three, agreed by the educators", profile_code="TV-A", profile_revision=1,
            ))  # fmt: skip
            assign_assessment(act, assessment_id, base_ids=[small.base_id])
        return assessment_id

    def sits(self, name: str, assessment_id: str) -> None:
        """Answer everything right and hand in."""
        with self.small.acting(name) as act:
            sitting_id = start_sitting(act, self.library, assessment_id)
        self._answer(name, sitting_id, wrong=0)

    def practises(self, name: str, *, wrong: int = 0) -> None:
        """Do the practice for today, with so many answers wrong."""
        with self.small.acting(name) as act:
            plan = practice_today(act, self.library)
            if not plan.items:
                return
            sitting_id = start_practice(act, self.library, parts=plan.parts)
        self._answer(name, sitting_id, wrong=wrong)

    def _answer(self, name: str, sitting_id: str, *, wrong: int) -> None:
        with self.small.acting(name) as act:
            asked = asked_questions(act, sitting_id)
            seed = act.session.get_one(Sitting, sitting_id).seed
        for one in asked:
            with self.small.acting(name, at=self.small.now + timedelta(minutes=one.position)) as act:
                record_answer(
                    act, sitting_id, one.position, response(one, seed, is_wrong=one.position <= wrong),
                    act_key=f"year-{sitting_id[-12:]}-{one.position}", seen_revision=0,
                )  # fmt: skip
        with self.small.acting(name, at=self.small.now + timedelta(minutes=30)) as act:
            submit_sitting(act, sitting_id)

    def watched(self, name: str, *, missed: str = "") -> None:
        """Tor watches P06 and signs; the steps named are not done."""
        observation_id = opened(self.small, of=name)
        phone = Phone(self.small.now, device_id=f"phone-{observation_id[-8:]}")
        phone.start()
        for place, step in enumerate(P06_IN_ORDER, 1):
            phone.mark(step, StepMark.NOT_DONE if step in missed else StepMark.DONE, after_s=3 * place)
        assert set(sent(self.small, observation_id, phone.made)) == {"saved"}
        locked(self.small, observation_id)
        signed(self.small, observation_id)

    def signed_off(self, name: str) -> None:
        decide(self.small, self.library, competencies=SIGNED, who=name, after=timedelta(hours=2))

    def goes_on_leave(self) -> None:
        day = self.small.now.date()
        until = day + timedelta(days=LEAVE_ENDS - LEAVE_BEGINS - 1)
        with self.small.acting("ines") as act:
            begin_leave(act, person_id=self.small.person_id(AWAY), from_day=day, until_day=until,
                        reason="Parental leave, planned long ago.")  # fmt: skip

    def returns(self) -> None:
        """The path back is walked and closed."""
        small, wanted = (
            self.small,
            PathWanted(kind=PathKind.LONG_LEAVE, about="", reason="Back from leave.", until_day=None),
        )
        with small.acting("ines") as act:
            path_id = open_path(act, person_id=small.person_id(AWAY), wanted=wanted)
        for step in (StepName.REFRESHER, StepName.QUESTIONS, StepName.TWO_OBSERVED, StepName.SUPERVISED):
            named = small.person_id(KEEN) if step is StepName.SUPERVISED else ""
            with small.acting("ines") as act:
                record_step(act, self.library, path_id=path_id, wanted=StepWanted(
                    step=step, done_on=small.now.date(), words="Done, and written here.", named_id=named,
                ))  # fmt: skip
        with small.acting("ines", at=small.now + timedelta(hours=1)) as act:
            close_path(act, path_id=path_id, outcome=PathOutcome.COMPLETE, words="Everything was seen again.")


def response(one: AskedQuestion, seed: str, *, is_wrong: bool) -> Response:
    """Answer a question of any kind right, or clearly wrong."""
    question = one.question
    if question.options:
        chosen = next(option for option in question.options if option.is_key is not is_wrong)
        return Response(option=option_token(seed, one.position, chosen.name))
    if question.steps:
        placed: list[str] = []
        waiting = list(question.steps)
        while waiting:
            ready = next(step for step in waiting if set(step.after) <= set(placed))
            placed.append(ready.name)
            waiting.remove(ready)
        return Response(order=placed[::-1] if is_wrong else placed)
    texts = ["0.001" if is_wrong else blank.key_printed.replace("−", "-") for blank in question.blanks]
    return Response(texts=texts, units=[blank.units[0] for blank in question.blanks])


def year_of_three(small: SmallService, library: Library, clock: Any) -> Year:
    """Write the year: nothing has happened yet but that the three work here and a standard is in force."""
    _add_three(small)
    with_standard(small, library, requirement("C3", knowledge=True), requirement("C5", knowledge=True),
                  requirement("C8", procedures=("P06",)))  # fmt: skip
    with small.acting("cleo") as act:
        accept(act, library, PLAIN)
    year = Year(small=small, library=library, clock=clock)
    year.at(0, lambda: _everybody_is_signed_off(year))
    for day in range(25, 365, 30):
        year.at(day, lambda: year.practises(KEEN))
    for day in (120, 240):
        year.at(day, lambda: year.watched(KEEN))
    year.at(150, lambda: year.practises(SELDOM, wrong=2))
    year.at(LEAVE_BEGINS, year.goes_on_leave)
    year.at(LEAVE_ENDS + 4, lambda: year.practises(AWAY))
    year.at(LEAVE_ENDS + 8, lambda: year.watched(AWAY))
    year.at(LEAVE_ENDS + 9, year.returns)
    year.at(340, lambda: _renewed(year))
    return year


def _everybody_is_signed_off(year: Year) -> None:
    assessment_id = year.form("Spring form")
    for name in THREE:
        year.sits(name, assessment_id)
        year.watched(name)
    for name in THREE:
        year.signed_off(name)


def _renewed(year: Year) -> None:
    year.sits(KEEN, year.form("Winter form"))
    year.watched(KEEN)
    year.signed_off(KEEN)


def _add_three(small: SmallService) -> None:
    with small.database.writing() as session:
        for name in THREE:
            person_id = small.person_id(name)
            session.add(
                Person(
                    id=person_id, staff_number=f"T-{name}", name=name.title(), profession="flight paramedic",
                    base_id=small.base_id, email=None, joined_on=FIRST_DAY, left_on=None, created_at=small.now,
                )
            )  # fmt: skip
            session.flush()
            session.add(
                Account(
                    id=person_id, person_id=person_id, sign_in_name=name, password_hash=CHEAP.hash(PASSWORD),
                    is_active=True, created_at=small.now,
                )
            )  # fmt: skip
            session.add(
                RoleGrant(
                    id=small.randomness.new_id(), person_id=person_id, role=Role.CLINICIAN.value,
                    base_id=small.base_id, from_day=FIRST_DAY, until_day=None, granted_by=None, second_by=None,
                    reason="test", granted_at=small.now, ended_at=None,
                )
            )  # fmt: skip
