"""Who can be on a crew: everybody of the service by staff number, with the reason where somebody cannot."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.person_fields import staff_number_key
from quizapp.services.act import Act
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class CrewPerson:
    """Somebody of the service; `reason` is "" or why they cannot be on a crew."""

    person_id: str
    staff_number: str
    name: str
    base_id: str
    reason: str


def people_by_number(act: Act) -> dict[str, CrewPerson]:
    """Return everybody by the key of their staff number, with one statement."""
    rows = act.session.execute(
        select(Person.id, Person.staff_number, Person.name, Person.base_id, Person.left_on).order_by(Person.name)
    )
    return {
        staff_number_key(number): CrewPerson(
            person_id=person_id,
            staff_number=number,
            name=name,
            base_id=base_id,
            reason="" if left_on is None else "this person left the service",
        )
        for person_id, number, name, base_id, left_on in rows
    }
