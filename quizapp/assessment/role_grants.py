"""What a role grant must look like: who may be given what, where, for how long, and when two people must agree."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from quizapp.assessment.roles import Role
from quizapp.assessment.validity import last_valid_day

# Being a clinician comes with being on the list of people; every other role carries weight.
GRANTED_BY_ONE = frozenset({Role.CLINICIAN})
WHOLE_SERVICE_ONLY = frozenset({Role.CLINICAL_LEAD, Role.ADMINISTRATOR})
MAY_BE_RECOGNISED = frozenset({Role.ASSESSOR, Role.EDUCATOR, Role.CLINICAL_LEAD})
LONGEST_RECOGNISED_MONTHS = 12
SHORTEST_REASON = 10
LONGEST_REASON = 1000


@dataclass(frozen=True, kw_only=True)
class RoleWanted:
    """A role somebody is to be given; `base_id` None is the whole service, `until_day` is included, None is open.

    `recognised` says that it rests on outside evidence, since nobody in the service could judge it yet.
    """

    role: Role
    base_id: str | None
    from_day: date
    until_day: date | None
    recognised: bool
    reason: str


@dataclass(frozen=True, kw_only=True)
class RoleFault:
    """One thing that stands in the way: the field it is about and a sentence."""

    field: str
    message: str


def needs_second(role: Role) -> bool:
    """Whether a second administrator must confirm a grant of this role."""
    return role not in GRANTED_BY_ONE


def last_recognised_day(from_day: date) -> date:
    """Give the last day, included, of a role that begins on a day and rests on outside evidence."""
    return last_valid_day(from_day, LONGEST_RECOGNISED_MONTHS)


def faults_of(wanted: RoleWanted, today: date) -> tuple[RoleFault, ...]:
    """Name everything that keeps a grant from being made on a civil day of the service's zone."""
    return (*_day_faults(wanted, today), *_place_faults(wanted), *_reason_faults(wanted))


def _day_faults(wanted: RoleWanted, today: date) -> list[RoleFault]:
    faults = []
    if wanted.from_day < today:
        faults.append(RoleFault(field="from_day", message="A role begins today or later, never in the past."))
    if wanted.until_day is not None and wanted.until_day < wanted.from_day:
        faults.append(RoleFault(field="until_day", message="The last day lies before the first day."))
    if wanted.recognised and wanted.role not in MAY_BE_RECOGNISED:
        faults.append(RoleFault(field="recognised", message=f"Outside evidence cannot make a {wanted.role.words}."))
    elif wanted.recognised and (wanted.until_day or date.max) > last_recognised_day(wanted.from_day):
        latest = last_recognised_day(wanted.from_day).isoformat()
        message = f"A role recognised on outside evidence ends within 12 months: {latest} at the latest."
        faults.append(RoleFault(field="until_day", message=message))
    return faults


def _place_faults(wanted: RoleWanted) -> list[RoleFault]:
    if wanted.base_id is not None and wanted.role in WHOLE_SERVICE_ONLY:
        message = f"The role of {wanted.role.words} is held for the whole service, not for one base."
        return [RoleFault(field="base_id", message=message)]
    return []


def _reason_faults(wanted: RoleWanted) -> list[RoleFault]:
    length = len(wanted.reason.strip())
    if length < SHORTEST_REASON:
        return [RoleFault(field="reason", message="Say in a few words why, so that a reader next year understands it.")]
    if length > LONGEST_REASON:
        return [RoleFault(field="reason", message=f"Keep the reason within {LONGEST_REASON} characters.")]
    return []
