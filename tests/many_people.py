"""A great many clinicians at the first base of the small service, written straight into the store."""

from __future__ import annotations

from quizapp.assessment.roles import Role
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from tests.small_service import FIRST_DAY, SmallService


def add_clinicians(small: SmallService, number: int, *, start: int = 0) -> list[str]:
    """Add so many clinicians, named c0, c1 and so on from `start`; return those names."""
    names = [f"c{at}" for at in range(start, start + number)]
    with small.database.writing() as session:
        for name in names:
            session.add(
                Person(
                    id=small.person_id(name), staff_number=f"T-{name}", name=f"Clinician {name[1:]}",
                    profession="paramedic", base_id=small.base_id, email=None, joined_on=FIRST_DAY, left_on=None,
                    created_at=small.now,
                )
            )  # fmt: skip
        session.flush()
        for name in names:
            session.add(
                RoleGrant(
                    id=small.randomness.new_id(), person_id=small.person_id(name), role=Role.CLINICIAN.value,
                    base_id=small.base_id, from_day=FIRST_DAY, until_day=None, granted_by=None, second_by=None,
                    reason="test", granted_at=small.now, ended_at=None,
                )
            )  # fmt: skip
    return names
