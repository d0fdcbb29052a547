"""A result that is looked at again: what may come of it, who may look, until when, and what nobody loses by it."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from quizapp.assessment.permissions import Actor
from quizapp.assessment.person_rules import Allowed, Denied, Verdict
from quizapp.assessment.roles import Role

DAYS_TO_ANSWER = 14
"""So many days a reviewer has, the last one included (ours; a setting of policy)."""


class ChallengeOutcome(StrEnum):
    """What a reviewer signs."""

    UPHELD = "upheld"
    CORRECTED = "corrected"
    VOID = "void"

    @property
    def words(self) -> str:
        """The outcome as it stands on the page and in the record."""
        return _WORDS[self]


_WORDS = {
    ChallengeOutcome.UPHELD: "the result stands",
    ChallengeOutcome.CORRECTED: "corrected",
    ChallengeOutcome.VOID: "void, it counts for nobody",
}


class Scope(StrEnum):
    """Whom a corrected key reaches: those asked the very same numbers, or everybody who met this version."""

    DRAW = "draw"
    FAMILY = "family"
    OBSERVATION = "observation"


class Effect(StrEnum):
    """What an answer does to one question, sitting or observation."""

    RAISED = "raised"
    SAME = "same"
    KEPT = "kept"
    VOID = "void"
    OPEN = "open"
    NOT_DRAWN = "not_drawn"

    @property
    def words(self) -> str:
        """The effect as it stands in the preview and on record."""
        return _EFFECTS[self]


_EFFECTS = {
    Effect.RAISED: "rises",
    Effect.SAME: "stays as it is",
    Effect.KEPT: "would fall, so it is kept with a note",
    Effect.VOID: "is left out",
    Effect.OPEN: "not handed in yet: marked with the corrected key then",
    Effect.NOT_DRAWN: "the corrected file draws other numbers here, so it stays as it is",
}


def due_day(raised_on: date) -> date:
    """Return the last day for an answer to what was raised on a civil day."""
    return raised_on + timedelta(days=DAYS_TO_ANSWER)


def may_review(reviewer: Actor, *, person_id: str, apart_ids: frozenset[str], base_id: str, day: date) -> Verdict:
    """Whether a person may answer a challenge: an educator for the base, not the person, not who marked or wrote it.

    `apart_ids`: whoever marked the result, wrote it over, or accepted the key for the service.
    """
    if reviewer.person_id == person_id:
        return Denied("Nobody reviews their own challenge. Another educator has to.")
    if reviewer.person_id in apart_ids:
        return Denied(
            f"{reviewer.name} marked this or stands for its key, so another educator of the base has to answer it."
        )
    if not reviewer.holds(Role.EDUCATOR, day, base_id):
        return Denied(f"{reviewer.name} is not an educator for this base on this day.")
    return Allowed()
