"""The standard for the year: recorded as a new version with a start, and read as it stood on any day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.validity import LONGEST_VALIDITY_MONTHS
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.standards import Standard, StandardRequirement

SHORTEST_REASON = 10
LONGEST_TEXT = 1000


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """What a standard asks for one competency: how long a sign-off lasts (1 to 60 months), knowledge, procedures."""

    competency: str
    is_critical: bool
    validity_months: int
    practice_months: int
    needs_knowledge: bool
    procedures: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StandardWanted:
    """A version to be recorded; `agreed_by` says in words who agreed to it."""

    name: str
    starts_on: date
    reason: str
    agreed_by: str
    requirements: Sequence[Requirement]


@dataclass(frozen=True, kw_only=True)
class StandardInForce:
    """One recorded version with all it requires, by competency."""

    id: str
    version: int
    name: str
    starts_on: date
    reason: str
    agreed_by: str
    requirements: tuple[Requirement, ...]

    def requirement(self, competency: str) -> Requirement | None:
        """What it asks for one competency, None when it asks nothing."""
        return next((one for one in self.requirements if one.competency == competency), None)


def record_standard(act: Act, library: Library, wanted: StandardWanted) -> str:
    """Record a new version of the standard and return its id.

    It starts on the start day of the version before or later, and except for the first one not in the past, so that
    nobody's standing of a day gone by changes. Raises BadInput naming the field.
    """
    require_right(act, Right.SET_STANDARD)
    newest = act.session.scalar(select(Standard).order_by(Standard.version.desc()).limit(1))
    _check(library, wanted)
    if newest is not None and wanted.starts_on < max(newest.starts_on, act.today):
        earliest = max(newest.starts_on, act.today).isoformat()
        raise BadInput(f"A new version starts on {earliest} or later.", field="starts_on")
    row = Standard(
        id=act.randomness.new_id(),
        version=newest.version + 1 if newest else 1,
        name=" ".join(wanted.name.split()),
        starts_on=wanted.starts_on,
        reason=wanted.reason.strip(),
        agreed_by=wanted.agreed_by.strip(),
        recorded_by=act.actor.person_id,
        recorded_at=act.now,
    )
    act.session.add(row)
    act.session.flush()
    act.session.add_all(_requirement_row(act, row.id, one) for one in wanted.requirements)
    record(act, AuditEvent.STANDARD_SET, "standard", row.id, thing=f"version {row.version}",
           after={"starts_on": row.starts_on.isoformat(),
                  "competencies": sorted(one.competency for one in wanted.requirements)})  # fmt: skip
    return row.id


def _requirement_row(act: Act, standard_id: str, one: Requirement) -> StandardRequirement:
    return StandardRequirement(
        id=act.randomness.new_id(),
        standard_id=standard_id,
        competency=one.competency,
        is_critical=one.is_critical,
        validity_months=one.validity_months,
        practice_months=one.practice_months,
        needs_knowledge=one.needs_knowledge,
        procedures=list(one.procedures),
    )


def _check(library: Library, wanted: StandardWanted) -> None:
    if not 1 <= len(" ".join(wanted.name.split())) <= 200:
        raise BadInput("Give the standard a name of 1 to 200 characters.", field="name")
    for field in ("reason", "agreed_by"):
        if not SHORTEST_REASON <= len(getattr(wanted, field).strip()) <= LONGEST_TEXT:
            raise BadInput(f"Write {SHORTEST_REASON} to {LONGEST_TEXT} characters.", field=field)
    codes = [one.competency for one in wanted.requirements]
    if not codes or len(set(codes)) < len(codes):
        raise BadInput("Name at least one competency, and each only once.", field="requirements")
    for one in wanted.requirements:
        _check_requirement(library, one)


def _check_requirement(library: Library, one: Requirement) -> None:
    if one.competency not in library.competencies:
        raise BadInput(f"There is no competency {one.competency}.", field="requirements")
    for procedure in one.procedures:
        if procedure not in library.procedures:
            raise BadInput(f"{one.competency}: there is no procedure {procedure}.", field="requirements")
    for months in (one.validity_months, one.practice_months):
        if not 1 <= months <= LONGEST_VALIDITY_MONTHS:
            message = f"{one.competency}: {months} months is outside 1 to {LONGEST_VALIDITY_MONTHS}."
            raise BadInput(message, field="requirements")
    if not one.needs_knowledge and not one.procedures:
        raise BadInput(f"{one.competency}: ask for knowledge or for at least one procedure.", field="requirements")


def standard_on(session: Session, day: date) -> StandardInForce | None:
    """Return the version in force on a civil day, with two statements; None before the first one started."""
    in_force = (
        select(Standard)
        .where(Standard.starts_on <= day)
        .order_by(Standard.starts_on.desc(), Standard.version.desc())
        .limit(1)
    )
    row = session.scalar(in_force)
    if row is None:
        return None
    asked = select(StandardRequirement).where(StandardRequirement.standard_id == row.id)
    requirements = [
        Requirement(
            competency=one.competency,
            is_critical=one.is_critical,
            validity_months=one.validity_months,
            practice_months=one.practice_months,
            needs_knowledge=one.needs_knowledge,
            procedures=tuple(one.procedures),
        )
        for one in sorted(session.scalars(asked), key=lambda row: (len(row.competency), row.competency))
    ]
    return StandardInForce(
        id=row.id,
        version=row.version,
        name=row.name,
        starts_on=row.starts_on,
        reason=row.reason,
        agreed_by=row.agreed_by,
        requirements=tuple(requirements),
    )
