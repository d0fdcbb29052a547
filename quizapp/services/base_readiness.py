"""The readiness of a base for those who answer for it, with a constant number of statements."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.csv_cells import disarm
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.readiness import PersonHere, Readiness, readiness
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.person_standing import PersonStands, standings
from quizapp.services.require_right import require_right
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant


@dataclass(frozen=True, kw_only=True)
class BaseReadiness:
    """One base on one day, its people with their standings, and the bases the actor may choose from."""

    base: RescueBase
    bases: list[RescueBase]
    people: list[PersonStands]
    readiness: Readiness


def bases_seen(act: Act) -> list[RescueBase]:
    """Return the bases whose readiness the actor may see, by name."""
    require_right(act, Right.SEE_READINESS)
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name, RescueBase.id))
    return [base for base in rows if has_right(act.actor, Right.SEE_READINESS, act.today, base.id)]


def base_seen(act: Act, base_id: str = "") -> tuple[RescueBase, list[RescueBase]]:
    """Return a base ("" for the first one) and all bases the actor sees; raises NotFound for any other."""
    bases = bases_seen(act)
    base = next((one for one in bases if not base_id or one.id == base_id), None)
    if base is None:
        raise NotFound("There is no such base of yours.")
    return base, bases


def base_readiness(act: Act, library: Library, base_id: str = "") -> BaseReadiness:
    """Return the readiness of a base ("" for the first one of the actor's); raises NotFound for any other base."""
    base, bases = base_seen(act, base_id)
    people = clinicians_of(act, base.id)
    stands = standings(act, library, people)
    listed = [stands[person.id] for person in people]
    here = [PersonHere(person_id=one.person.id, name=one.person.name, report=one.report) for one in listed]
    return BaseReadiness(base=base, bases=bases, people=listed, readiness=readiness(here, act.today))


def clinicians_of(act: Act, base_id: str) -> list[Person]:
    """Return the people of the base who hold the role of a clinician today."""
    rows = act.session.scalars(
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(Person.base_id == base_id, Person.left_on.is_(None))
        .where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_at.is_(None))
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .order_by(Person.name, Person.id)
        .distinct()
    )
    return list(rows)


def readiness_csv(act: Act, library: Library, base_id: str) -> str:
    """Return the people of a base with their standings as CSV (RFC 4180), cells disarmed, and note the export."""
    page = base_readiness(act, library, base_id)
    competencies = list(dict.fromkeys(row.competency for one in page.people for row in one.report.rows))
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        ["as_of", "base", "staff_number", "name", "standing", "sentence", "first_last_valid_day", *competencies]
    )
    for one in page.people:
        writer.writerow([disarm(cell) for cell in _cells(page, one, competencies)])
    record(act, AuditEvent.LIST_EXPORTED, "base", page.base.id, thing="readiness", after={"people": len(page.people)})
    return out.getvalue()


def _cells(page: BaseReadiness, one: PersonStands, competencies: list[str]) -> list[str]:
    report = one.report
    return [
        page.readiness.day.isoformat(),
        page.base.name,
        one.person.staff_number,
        one.person.name,
        report.standing.words,
        report.sentence,
        report.soonest_end.isoformat() if report.soonest_end else "",
        *(_competency_cell(one, code) for code in competencies),
    ]


def _competency_cell(one: PersonStands, code: str) -> str:
    rows = [row for row in one.report.rows if row.competency == code]
    return "; ".join(
        f"{row.standing.words} {row.last_valid_day.isoformat() if row.last_valid_day else ''} {row.profile}".replace(
            "  ", " "
        )
        for row in rows
    )
