"""Who may answer a challenge: educators who reach the base, apart from the person and whoever marked or wrote it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, select

from quizapp.assessment.challenges import may_review
from quizapp.assessment.permissions import Actor
from quizapp.assessment.person_rules import Denied
from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.services.sign_in import roles_of
from quizapp.store.challenges import Challenge, ChallengeAnswer
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant


@dataclass(frozen=True, kw_only=True)
class Educator:
    """Somebody who holds the educator's role today, and at which base they are."""

    actor: Actor
    base_name: str


def choose_reviewer(act: Act, *, base_id: str, person_id: str, apart_ids: frozenset[str]) -> str | None:
    """Return the educator with the fewest open challenges who may answer this one; None where nobody may."""
    fitting = [
        one.actor
        for one in _educators(act)
        if not isinstance(
            may_review(one.actor, person_id=person_id, apart_ids=apart_ids, base_id=base_id, day=act.today), Denied
        )
    ]
    busy = _open_counts(act)
    chosen = min(fitting, key=lambda one: (busy.get(one.person_id, 0), one.name, one.person_id), default=None)
    return chosen.person_id if chosen else None


def educators_elsewhere(act: Act, *, person_id: str, apart_ids: frozenset[str]) -> tuple[str, ...]:
    """Return the names and bases of educators who could be asked where nobody at the base may answer."""
    return tuple(
        f"{one.actor.name}, {one.base_name}"
        for one in _educators(act)
        if one.actor.person_id not in {person_id, *apart_ids}
    )


def _educators(act: Act) -> list[Educator]:
    rows = act.session.execute(
        select(Person.id, Person.name, RescueBase.name)
        .join(RescueBase, RescueBase.id == Person.base_id)
        .where(
            Person.left_on.is_(None),
            select(RoleGrant.id)
            .where(
                RoleGrant.person_id == Person.id,
                RoleGrant.role == Role.EDUCATOR.value,
                RoleGrant.ended_at.is_(None),
                RoleGrant.from_day <= act.today,
                (RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today),
            )
            .exists(),
        )
        .order_by(Person.name, Person.id)
    ).all()
    held = roles_of(act.session, [person_id for person_id, _, _ in rows])
    return [
        Educator(
            actor=Actor(person_id=person_id, account_id="", name=name, roles_held=held[person_id]), base_name=base_name
        )
        for person_id, name, base_name in rows
    ]


def _open_counts(act: Act) -> dict[str, int]:
    rows = act.session.execute(
        select(Challenge.reviewer_id, func.count())
        .outerjoin(ChallengeAnswer, ChallengeAnswer.challenge_id == Challenge.id)
        .where(Challenge.reviewer_id.is_not(None), ChallengeAnswer.id.is_(None))
        .group_by(Challenge.reviewer_id)
    )
    return {str(reviewer_id): count for reviewer_id, count in rows}
