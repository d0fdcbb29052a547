"""How often the rule of a form errs that carries evidence before an educator."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, select

from quizapp.psychometrics.binomial_form import FormChances, form_chances
from quizapp.services.act import Act
from quizapp.services.decision_desk import Desk
from quizapp.store.assessments import Assessment, AssessmentPart
from quizapp.store.sittings import Sitting


@dataclass(frozen=True, kw_only=True)
class RuleBehind:
    """One form: its title, its rule, and the exact chances that it errs."""

    title: str
    question_count: int
    cut: int
    chances: FormChances


def rules_behind(act: Act, before: Desk) -> list[RuleBehind]:
    """Return the rules of the forms that carry a part of an open competency, with one statement."""
    references = {part.reference for one in before.open_rows for part in one.parts if part.is_present}
    sources = [before.evidence[reference].source_id for reference in references if reference is not None]
    rows = act.session.execute(
        select(Assessment.id, Assessment.title, Assessment.cut, func.sum(AssessmentPart.question_count))
        .join(AssessmentPart, AssessmentPart.assessment_id == Assessment.id)
        .where(Assessment.id.in_(select(Sitting.assessment_id).where(Sitting.id.in_(sources))))
        .group_by(Assessment.id, Assessment.title, Assessment.cut)
        .order_by(Assessment.title, Assessment.id)
    ).tuples()
    return [
        RuleBehind(title=title, question_count=int(count), cut=cut, chances=form_chances(int(count), cut))
        for _id, title, cut, count in rows
    ]
