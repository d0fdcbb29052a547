"""The first screen of a person: how they stand, and the next thing to do with its minutes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from sqlalchemy import func, select

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import NextStep, NextWhat, StandingReport
from quizapp.assessment.standing_words import CompetencyRow
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.booked_places import BookedPlace, booked_places
from quizapp.services.person_standing import standing_of
from quizapp.services.standards import standard_on
from quizapp.store.assessments import Assessment, AssessmentPart, Assignment
from quizapp.store.people import Person, RescueBase
from quizapp.store.sittings import Sitting

MINUTES_A_QUESTION = 1.5
MINUTES_A_PROCEDURE = 12


class NextKind(StrEnum):
    """What the one filled button does."""

    SIT = "sit"
    CONTINUE = "continue"
    REHEARSE = "rehearse"
    PRACTISE = "practise"
    NOTHING = "nothing"


@dataclass(frozen=True, kw_only=True)
class WaitingAssessment:
    """An assessment given to the person and not handed in yet."""

    assessment_id: str
    title: str
    question_count: int
    due_on: date | None
    sitting_id: str | None

    @property
    def minutes(self) -> int:
        """About how long it takes."""
        return max(1, round(self.question_count * MINUTES_A_QUESTION))


@dataclass(frozen=True, kw_only=True)
class NextAct:
    """The one thing to do next: what it is, in how many minutes, and the id or code it concerns."""

    kind: NextKind
    words: str
    how: str
    minutes: int
    reference: str = ""


@dataclass(frozen=True, kw_only=True)
class MyCurrency:
    """Everything the first screen shows; `finding` is its one sentence.

    For somebody who is no clinician nothing is required: there are no rows then.
    """

    name: str
    finding: str
    is_clinician: bool
    base: str
    report: StandingReport
    rows: tuple[CompetencyRow, ...]
    waiting: list[WaitingAssessment]
    next_act: NextAct
    standard_name: str
    places: tuple[BookedPlace, ...]


def my_currency(act: Act, library: Library) -> MyCurrency:
    """Return how the actor stands and what comes next."""
    stands = standing_of(act, library, act.actor.person_id)
    base = act.session.get_one(RescueBase, stands.person.base_id)
    waiting = waiting_assessments(act, stands.person)
    standard = standard_on(act.session, act.today)
    is_clinician = act.actor.holds(Role.CLINICIAN, act.today)
    step = stands.report.next_step if is_clinician else NextStep(what=NextWhat.NOTHING)
    return MyCurrency(
        name=stands.person.name,
        finding=stands.report.sentence if is_clinician else "Nothing is required of you.",
        is_clinician=is_clinician,
        base=base.name,
        report=stands.report,
        rows=stands.report.soonest_first if is_clinician else (),
        waiting=waiting,
        next_act=_next_act(act, step, waiting),
        standard_name=f"{standard.name}, version {standard.version}" if standard else "none yet",
        places=booked_places(act, [stands.person.id]).get(stands.person.id, ()),
    )


def waiting_assessments(act: Act, person: Person) -> list[WaitingAssessment]:
    """Return what was assigned to a person and not handed in, due first."""
    questions = (
        select(AssessmentPart.assessment_id, func.sum(AssessmentPart.question_count).label("questions"))
        .group_by(AssessmentPart.assessment_id)
        .subquery()
    )
    rows = act.session.execute(
        select(Assessment, Assignment.due_on, questions.c.questions, Sitting.id, Sitting.submitted_at)
        .join(Assignment, Assignment.assessment_id == Assessment.id)
        .join(questions, questions.c.assessment_id == Assessment.id)
        .outerjoin(Sitting, (Sitting.assessment_id == Assessment.id) & (Sitting.person_id == Assignment.person_id))
        .where(Assignment.person_id == person.id)
    )
    waiting = [
        WaitingAssessment(
            assessment_id=assessment.id,
            title=assessment.title,
            question_count=int(count),
            due_on=due_on,
            sitting_id=sitting_id,
        )
        for assessment, due_on, count, sitting_id, submitted_at in rows
        if submitted_at is None and (assessment.closed_at is None or sitting_id is not None)
    ]
    return sorted(waiting, key=lambda one: (one.due_on or date.max, one.title))


def _next_act(act: Act, step: NextStep, waiting: list[WaitingAssessment]) -> NextAct:
    if waiting:
        first = waiting[0]
        begun = first.sitting_id is not None
        return NextAct(
            kind=NextKind.CONTINUE if begun else NextKind.SIT,
            words=first.title,
            how=f"{first.question_count} questions, about {first.minutes} minutes"
            + (", begun: every answer is kept." if begun else "."),
            minutes=first.minutes,
            reference=first.sitting_id or first.assessment_id,
        )
    if step.what is NextWhat.NOTHING:
        return NextAct(
            kind=NextKind.PRACTISE, words="Nothing is due.", how="Five minutes of practice keep it warm.", minutes=5
        )
    if step.what in {NextWhat.SPEAK_TO_EDUCATOR, NextWhat.COME_BACK} or step.competency is None:
        return NextAct(kind=NextKind.NOTHING, words="Speak to your educator.", how="They decide what comes next.",
                       minutes=5)  # fmt: skip
    return _to_show(act, step.competency)


def _to_show(act: Act, competency: str) -> NextAct:
    """Say what shows a competency again: an observed procedure (rehearse it first), or questions."""
    standard = standard_on(act.session, act.today)
    requirement = standard.requirement(competency) if standard else None
    if requirement is not None and requirement.procedures:
        procedure = requirement.procedures[0]
        return NextAct(
            kind=NextKind.REHEARSE,
            words=f"{procedure}, watched by an assessor, for {competency}.",
            how=f"About {MINUTES_A_PROCEDURE} minutes with an assessor. Rehearse it first, 3 minutes.",
            minutes=MINUTES_A_PROCEDURE,
            reference=procedure,
        )
    return NextAct(
        kind=NextKind.PRACTISE,
        words=f"Questions on {competency}.",
        how="Ask your educator for the assessment; practise first, 5 minutes.",
        minutes=5,
        reference=competency,
    )
