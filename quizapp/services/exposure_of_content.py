"""How often each family was asked, and of how many people."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import distinct, func, select

from quizapp.assessment.permissions import Right
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.store.sittings import Sitting, SittingQuestion


@dataclass(frozen=True, kw_only=True)
class Exposure:
    """How many times a family was asked and how many people met it."""

    times: int
    people: int


def exposure_of_content(act: Act) -> dict[str, Exposure]:
    """Return the exposure of each family that was ever asked, in whatever version, with one statement."""
    require_right(act, Right.PREVIEW_CONTENT)
    rows = act.session.execute(
        select(SittingQuestion.family, func.count(), func.count(distinct(Sitting.person_id)))
        .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
        .group_by(SittingQuestion.family)
    )
    return {family: Exposure(times=times, people=people) for family, times, people in rows}
