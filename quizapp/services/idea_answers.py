"""Newest answers with the wrong ideas they name, of one person or of many, in one statement."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import aliased

from quizapp.assessment import frozen_json
from quizapp.assessment.families import Use
from quizapp.assessment.grading import Grade
from quizapp.assessment.held_ideas import IdeaAnswer
from quizapp.assessment.released import SittingState, is_released
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.remarked import question_is_void
from quizapp.store.assessments import Assessment
from quizapp.store.people import Person
from quizapp.store.sittings import Answer, Sitting, SittingQuestion


@dataclass(frozen=True, kw_only=True)
class GivenIdeas:
    """One answer with its ideas, and whether the person may be told of them already."""

    question_id: str
    answer: IdeaAnswer
    is_released: bool


def idea_answers(act: Act, library: Library, *conditions: ColumnElement[bool]) -> list[GivenIdeas]:
    """Return the newest answer to each question that meets the conditions.

    conditions: on Sitting, SittingQuestion, Assessment or Person. A family that is no longer in the folder counts as
    closed.
    """
    later = aliased(Answer)
    newest = select(func.max(later.revision)).where(later.question_id == Answer.question_id).scalar_subquery()
    rows = act.session.execute(
        select(SittingQuestion.id, SittingQuestion.family, SittingQuestion.competency, Sitting.person_id,
               Sitting.purpose, Sitting.submitted_at, Assessment.closed_at, Answer.grade, Answer.answered_at)
        .join(Answer, Answer.question_id == SittingQuestion.id)
        .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
        .join(Person, Person.id == Sitting.person_id)
        .outerjoin(Assessment, Assessment.id == Sitting.assessment_id)
        .where(Answer.revision == newest, ~question_is_void(), *conditions)
    )  # fmt: skip
    found = []
    for question_id, family, competency, person_id, purpose, submitted_at, closed_at, grade, answered_at in rows:
        state = SittingState(
            is_practice=purpose == SittingPurpose.PRACTICE,
            is_handed_in=submitted_at is not None,
            window_is_closed=closed_at is not None,
        )
        use = library.families[family].use if family in library.families else Use.ASSESSMENT
        answer = IdeaAnswer(
            person_id=person_id,
            family=family,
            competency=competency,
            ideas=frozen_json.from_plain(Grade, grade).ideas,
            answered_at=answered_at,
        )
        found.append(GivenIdeas(question_id=question_id, answer=answer,
                                is_released=is_released(state, use, is_answered=True)))  # fmt: skip
    return found
