"""Which wrong ideas a cohort named and holds: a base, an assessment, or all that the actor answers for."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, select

from quizapp.assessment.held_ideas import IdeaShare, idea_shares, ideas_known
from quizapp.assessment.permissions import Right, has_right
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.idea_answers import idea_answers
from quizapp.services.require_right import require_right
from quizapp.store.assessments import Assessment
from quizapp.store.people import Person, RescueBase
from quizapp.store.sittings import Sitting


@dataclass(frozen=True, kw_only=True)
class CohortIdeas:
    """The shares of a cohort, by competency, and what else could be chosen (pairs of id and name)."""

    shares: tuple[IdeaShare, ...]
    people: int
    answers: int
    base_name: str
    assessment_title: str
    bases: tuple[tuple[str, str], ...]
    assessments: tuple[tuple[str, str], ...]


def wrong_ideas_of(act: Act, library: Library, *, base_id: str = "", assessment_id: str = "") -> CohortIdeas:
    """Return the wrong ideas in handed-in assessments of people at a base and of one assessment ("" for all).

    Practice is left out: it has no consequences. Three statements. Raises NotFound for a base the actor does not
    answer for, and for an unknown assessment.
    """
    require_right(act, Right.SEE_STATISTICS)
    bases = {
        base.id: base.name
        for base in act.session.scalars(select(RescueBase).order_by(RescueBase.name))
        if has_right(act.actor, Right.SEE_STATISTICS, act.today, base.id)
    }
    newest_first = select(Assessment).order_by(Assessment.composed_at.desc(), Assessment.id)
    titles = {assessment.id: assessment.title for assessment in act.session.scalars(newest_first)}
    if base_id and base_id not in bases:
        raise NotFound("There is no such base for you.")
    if assessment_id and assessment_id not in titles:
        raise NotFound("There is no such assessment.")
    conditions: list[ColumnElement[bool]] = [
        Sitting.submitted_at.is_not(None),
        Sitting.assessment_id == assessment_id if assessment_id else Sitting.assessment_id.is_not(None),
        Person.base_id.in_([base_id] if base_id else list(bases)),
    ]
    answers = [one.answer for one in idea_answers(act, library, *conditions)]
    known = {family: ideas_known(library.families[family])
             for family in {one.family for one in answers} if family in library.families}  # fmt: skip
    return CohortIdeas(
        shares=idea_shares(answers, known),
        people=len({one.person_id for one in answers}),
        answers=len(answers),
        base_name=bases.get(base_id, ""),
        assessment_title=titles.get(assessment_id, ""),
        bases=tuple(bases.items()),
        assessments=tuple(titles.items()),
    )
