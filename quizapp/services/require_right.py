"""Refuses an act whose actor holds no role with the right, at the base it concerns."""

from __future__ import annotations

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Denied, Verdict
from quizapp.errors import NotAllowed
from quizapp.services.act import Act


def require_right(act: Act, right: Right, base_id: str | None = None) -> None:
    """Raise NotAllowed unless one of the actor's roles carries the right today, anywhere or at one base."""
    if not has_right(act.actor, right, act.today, base_id):
        raise NotAllowed("Your roles do not include this. Nothing was changed. An administrator grants roles.")


def refuse_oneself(act: Act, person_id: str, what: str) -> None:
    """Raise NotAllowed when the actor is the person concerned; `what` ends "nobody may ..."."""
    if act.actor.person_id == person_id:
        raise NotAllowed(f"Nobody may {what}. Nothing was changed. Ask another administrator.")


def allow(verdict: Verdict) -> None:
    """Raise NotAllowed with the reason when a rule on persons denies the act."""
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was changed.")
