"""Who is a clinician of the service today."""

from __future__ import annotations

from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.services.act import Act
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant


def clinicians(act: Act) -> list[Person]:
    """Return the people who hold the role of a clinician today, at any base, with one statement."""
    rows = act.session.scalars(
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_at.is_(None), Person.left_on.is_(None))
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .distinct()
    )
    return list(rows)
