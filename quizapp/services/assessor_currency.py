"""Whether a person is current today for every competency of a procedure, as an assessor of it has to be."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Protocol

from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.person_standing import standing_of

AWAY = {PersonStanding.WITHDRAWN, PersonStanding.SUSPENDED, PersonStanding.PAUSED}


class AssessorCurrency(Protocol):
    """Tells whether a person is current today for every one of some competencies."""

    def __call__(self, act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
        """Return True only when nothing is missing, lapsed, suspended or withdrawn."""
        ...


def assessor_currency(library: Library, *, at: datetime | None = None) -> AssessorCurrency:
    """Return the rule that asks the one standing rule; being away or restricted counts as not current.

    at: the minute asked about, aware UTC (default: now).
    """

    def is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
        report = standing_of(act, library, person_id, at=at).report
        if report.standing in AWAY or report.conditions:
            return False
        return all(report.of_competency(competency).is_in_date for competency in competencies)

    return is_current
