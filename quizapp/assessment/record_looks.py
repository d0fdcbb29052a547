"""Looks at another person's record: what kinds there are, and who may ask how somebody stood at a minute."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from quizapp.assessment.permissions import Actor
from quizapp.assessment.person_rules import Allowed, Denied, PersonView, Verdict
from quizapp.assessment.roles import Role

SHORTEST_PURPOSE = 10
LONGEST_PURPOSE = 500


class LookKind(StrEnum):
    """What was looked at."""

    STANDING_THEN = "standing_then"
    STANDING_PAGE = "standing_page"
    DECISION_DESK = "decision_desk"

    @property
    def words(self) -> str:
        """What was looked at, as its person reads it."""
        return {
            LookKind.STANDING_THEN: "How you stood, with the evidence of that minute",
            LookKind.STANDING_PAGE: "How you stand and what changed it",
            LookKind.DECISION_DESK: "Your evidence, for a decision",
        }[self]


def may_ask_standing(viewer: Actor, *, person_id: str, base_then: str, base_now: str, day: date) -> Verdict:
    """Whether somebody may ask how another stood at a minute, and how much they see.

    A team lead asks about their own bases: who belonged there then, or belongs there now. An educator likewise, and
    sees what the evidence says; a lead sees outcomes and dates. `day` is the civil day of asking.
    """
    if viewer.person_id == person_id:
        return Allowed(view=PersonView.OWN)
    bases = (base_then, base_now)
    if any(viewer.holds(Role.EDUCATOR, day, base_id) for base_id in bases):
        return Allowed(view=PersonView.TEACHING)
    if any(viewer.holds(Role.TEAM_LEAD, day, base_id) for base_id in bases):
        return Allowed(view=PersonView.OUTCOMES)
    return Denied(f"{viewer.name} answers for no base to which this person belonged then or belongs now.")
