"""Warns where a base would have no assessor of its own any more, and tells its leads once that has happened."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from sqlalchemy import or_, select

from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.services.messages import ToTell, tell
from quizapp.services.note_covers import leads_of
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant


def bases_losing_their_assessors(act: Act, going: Collection[str]) -> list[RescueBase]:
    """Return the bases, by name, whose assessors who belong there are all among the people going; one statement."""
    rows = act.session.execute(
        select(RescueBase, Person.id)
        .join(Person, Person.base_id == RescueBase.id)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(Person.left_on.is_(None), RoleGrant.role == Role.ASSESSOR.value, RoleGrant.ended_at.is_(None))
        .where(RoleGrant.from_day <= act.today, or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today))
        .where(or_(RoleGrant.base_id.is_(None), RoleGrant.base_id == RescueBase.id))
        .order_by(RescueBase.name)
    )
    bases: dict[str, RescueBase] = {}
    holders: dict[str, set[str]] = defaultdict(set)
    for base, person_id in rows:
        bases[base.id] = base
        holders[base.id].add(person_id)
    return [bases[base_id] for base_id, people in holders.items() if people <= set(going)]


def tell_leads_of_lost_assessors(act: Act, bases: Sequence[RescueBase]) -> None:
    """Tell the leads of bases that the last assessor went, in the transaction in which it happened."""
    leads = leads_of(act, [base.id for base in bases]) if bases else {}
    tell(
        act,
        [
            ToTell(
                person_id=lead,
                about="base",
                about_id=base.id,
                text=f"The last assessor of {base.name} left or moved. Until two administrators make somebody an "
                "assessor there, assessors of other bases have to come.",
            )
            for base in bases
            for lead in leads[base.id]
        ],
    )
