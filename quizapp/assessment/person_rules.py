"""Rules on persons, which stand over every role: who may observe, decide, void, grant and see, and why not.

Two persons are compared by person, never by account. A refusal says the reason and who could instead.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TypeAlias

from quizapp.assessment.permissions import Actor
from quizapp.assessment.role_grants import needs_second
from quizapp.assessment.roles import Role, bases_for
from quizapp.assessment.standing_moves import MOVES_BY, StandingAct
from quizapp.assessment.standing_record import Outcome

DAYS_SEEN_AFTER_OBSERVING = 30


class PersonView(StrEnum):
    """How much of another's record may be seen."""

    OWN = "own"
    TEACHING = "teaching"
    OBSERVING = "observing"
    OUTCOMES = "outcomes"


@dataclass(frozen=True, kw_only=True)
class Allowed:
    """The act is allowed; `is_reciprocal` marks that the person concerned decided on the actor a short while ago."""

    is_reciprocal: bool = False
    view: PersonView | None = None


@dataclass(frozen=True)
class Denied:
    """The act is not allowed; `reason` says why in one sentence, for the screen and the audit trail."""

    reason: str


Verdict: TypeAlias = Allowed | Denied


def may_observe(observer: Actor, *, observed_id: str, base_id: str, is_current: bool, day: date) -> Verdict:
    """Whether a person may observe another and sign what was observed.

    `is_current` says whether the observer is, in every competency observed; `day` is the civil day.
    """
    if observer.person_id == observed_id:
        return Denied("Nobody observes themselves. Another assessor has to watch.")
    if not observer.holds(Role.ASSESSOR, day, base_id):
        return Denied(f"{observer.name} is not an assessor for this base on this day.")
    if not is_current:
        return Denied(
            f"{observer.name} is not current in what was observed, so the observation cannot be signed. "
            "It is kept and needs the signature of an assessor who is current."
        )
    return Allowed()


def may_discuss(holder: Actor, *, person_id: str, base_id: str, is_current: bool, day: date) -> Verdict:
    """Whether a person may hold a structured discussion with another and sign it.

    An educator of the base may; an assessor who `is_current` in the competency discussed; nobody with oneself.
    """
    if holder.person_id == person_id:
        return Denied("Nobody holds a structured discussion with themselves. An assessor or educator has to.")
    if holder.holds(Role.EDUCATOR, day, base_id):
        return Allowed()
    if not holder.holds(Role.ASSESSOR, day, base_id):
        return Denied(f"{holder.name} is no assessor or educator for this base on this day.")
    if not is_current:
        return Denied(
            f"{holder.name} is not current in what is discussed, so it cannot be signed. "
            "An educator of the base, or an assessor who is current, can hold it."
        )
    return Allowed()


def may_decide(
    decider: Actor,
    *,
    person_id: str,
    base_id: str,
    sole_assessor_ids: frozenset[str],
    day: date,
    decided_on_decider_ids: frozenset[str] = frozenset(),
) -> Verdict:
    """Whether a person may decide on another and sign it; no hands-on currency is asked of an educator.

    `sole_assessor_ids` are persons whose observations alone carry the decision; `decided_on_decider_ids` are those
    who decided on the decider within the last 30 days.
    """
    if decider.person_id == person_id:
        return Denied("Nobody decides on themselves. Another educator has to.")
    if not decider.holds(Role.EDUCATOR, day, base_id):
        return Denied(f"{decider.name} is not an educator for this base on this day.")
    if decider.person_id in sole_assessor_ids:
        return Denied(
            f"{decider.name} is the only assessor whose observation carries this decision. "
            "Another educator has to decide, or another assessor has to observe."
        )
    return Allowed(is_reciprocal=person_id in decided_on_decider_ids)


def needs_two_people(previous: Outcome | None, new: Outcome) -> bool:
    """Whether a decision turns "not yet" into "competent" and so needs a second signature."""
    return previous is Outcome.NOT_YET and new is Outcome.COMPETENT


def _two_people(first: Actor, second: Actor | None, person_id: str, fits: Callable[[Actor], bool], who: str) -> Verdict:
    """Whether two different people who both fit, neither the person concerned, stand behind an act."""
    if person_id in {first.person_id, second.person_id if second else None}:
        return Denied("Nobody takes part in an act that concerns themselves.")
    if not fits(first):
        return Denied(f"{first.name} is not {who} on this day.")
    if second is None:
        return Denied(f"Two people are needed: a second person who is {who} has to sign as well.")
    if first.person_id == second.person_id:
        return Denied("The second signature has to come from a different person.")
    if not fits(second):
        return Denied(f"{second.name} is not {who} on this day.")
    return Allowed()


def may_void(first: Actor, second: Actor | None, *, person_id: str, base_id: str, day: date) -> Verdict:
    """Whether two people may void a decision on a third; `second` None means nobody has countersigned yet."""
    return _two_people(
        first, second, person_id, lambda one: one.holds(Role.EDUCATOR, day, base_id), "an educator for this base"
    )


def may_turn_to_competent(
    first: Actor,
    second: Actor | None,
    *,
    person_id: str,
    base_id: str,
    sole_assessor_ids: frozenset[str],
    day: date,
) -> Verdict:
    """Whether two people may change "not yet" to "competent"; the rules of a decision hold for both."""
    for one in (first, second):
        if one is not None:
            verdict = may_decide(
                one, person_id=person_id, base_id=base_id, sole_assessor_ids=sole_assessor_ids, day=day
            )
            if isinstance(verdict, Denied):
                return verdict
    return may_void(first, second, person_id=person_id, base_id=base_id, day=day)


def _is_administrator(one: Actor, base_id: str | None, day: date) -> bool:
    """Whether somebody administers that base (None: the whole service, which a role at one base does not reach)."""
    bases = bases_for(one.roles_held, Role.ADMINISTRATOR, day)
    return bases.whole_service or (base_id is not None and base_id in bases)


def may_grant(
    granter: Actor, *, person_id: str, role: Role, base_id: str | None, second: Actor | None, day: date
) -> Verdict:
    """Whether a role may be granted: by administrators, never to oneself, by two except for a clinician.

    `base_id` is where the role is to be held, None for the whole service.
    """

    def fits(one: Actor) -> bool:
        return _is_administrator(one, base_id, day)

    if needs_second(role):
        return _two_people(granter, second, person_id, fits, "an administrator who reaches this far")
    if granter.person_id == person_id:
        return Denied("Nobody takes part in an act that concerns themselves.")
    return Allowed() if fits(granter) else Denied(f"{granter.name} is not an administrator who reaches this far.")


def may_end_role(
    ender: Actor,
    *,
    person_id: str,
    role: Role,
    base_id: str | None,
    active_administrator_ids: frozenset[str],
    day: date,
) -> Verdict:
    """Whether a role held at `base_id` (None: the whole service) may be taken away.

    The last active administrator cannot lose that role.
    """
    if not _is_administrator(ender, base_id, day):
        return Denied(f"{ender.name} is not an administrator who reaches this far.")
    if role is Role.ADMINISTRATOR and active_administrator_ids <= {person_id}:
        return Denied("This is the last active administrator. Grant the role to somebody else first.")
    return Allowed()


def may_change_standing(actor: Actor, act: StandingAct, *, person_id: str, base_id: str, day: date) -> Verdict:
    """Whether one person may suspend, lift, withdraw, pause, restrict or the like; never for oneself.

    An act that needs two people, and a decision on evidence, have their own rules above.
    """
    if act in {StandingAct.DECIDE, StandingAct.VOID}:
        raise ValueError(f"{act} has its own rule")
    if actor.person_id == person_id:
        return Denied("Nobody changes their own standing.")
    roles = MOVES_BY[act].roles
    if not any(actor.holds(role, day, base_id) for role in roles):
        names = " or ".join(sorted(role.words for role in roles)) or "person"
        return Denied(f"{actor.name} is no {names} for this base on this day.")
    return Allowed()


def may_accept_content(lead: Actor, *, author_ids: frozenset[str], day: date) -> Verdict:
    """Whether a clinical lead may accept a content hash for sign-off; nobody accepts what they wrote themselves."""
    if not lead.holds(Role.CLINICAL_LEAD, day):
        return Denied(f"{lead.name} is not a clinical lead on this day.")
    if lead.person_id in author_ids:
        return Denied(f"{lead.name} wrote this content. Another clinical lead has to accept it.")
    return Allowed()


def may_see_person(viewer: Actor, *, person_id: str, base_id: str, last_observed: date | None, day: date) -> Verdict:
    """Whether a person's record may be seen, and how much of it.

    `base_id` is the person's base now. `last_observed` is the last day on which the viewer was assigned to observe
    the person; an assessor sees the record until 30 days after. Administrators see none by default.
    """
    if viewer.person_id == person_id:
        return Allowed(view=PersonView.OWN)
    if viewer.holds(Role.EDUCATOR, day, base_id):
        return Allowed(view=PersonView.TEACHING)
    if viewer.holds(Role.TEAM_LEAD, day, base_id):
        return Allowed(view=PersonView.OUTCOMES)
    is_recent = last_observed is not None and day <= last_observed + timedelta(days=DAYS_SEEN_AFTER_OBSERVING)
    if is_recent and viewer.holds(Role.ASSESSOR, day, base_id):
        return Allowed(view=PersonView.OBSERVING)
    return Denied(f"{viewer.name} has no part in this person's record on this day.")
