"""What a person can practise today: each competency that has questions for the device at the own base."""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.assessment.families import Use
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.content_in_force import content_in_force
from quizapp.services.start_sitting import practice_profile


@dataclass(frozen=True, kw_only=True)
class PracticeChoice:
    """One competency and how many families ask about it."""

    code: str
    title: str
    family_count: int


def practice_choices(act: Act, library: Library) -> list[PracticeChoice]:
    """Return the competencies that can be practised, in their order."""
    in_force = content_in_force(act)
    families = [
        family
        for family in library.families_for(practice_profile(act, library))
        if family.use is not Use.ASSESSMENT and not in_force.is_withdrawn(family)
    ]
    counts = {code: sum(code in family.competencies for family in families) for code in library.competencies}
    return [
        PracticeChoice(code=code, title=competency.title, family_count=counts[code])
        for code, competency in library.competencies.items()
        if counts[code]
    ]
