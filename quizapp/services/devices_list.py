"""Every device revision a base has or had in its packs, for those who record it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.people_list import BaseName, bases
from quizapp.services.require_right import require_right
from quizapp.store.devices import DeviceInService
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class DeviceLine:
    """One revision at one base, first and last day included; `may_change` says that the actor records for the base."""

    id: str
    base: BaseName
    profile_code: str
    profile_revision: int
    from_day: date
    until_day: date | None
    recorded_by: str
    is_in_service: bool
    may_change: bool

    @property
    def label(self) -> str:
        """Code and revision as people say them."""
        return f"{self.profile_code} revision {self.profile_revision}"


def bases_to_record_for(act: Act) -> tuple[BaseName, ...]:
    """Return the bases whose devices the actor may record."""
    require_right(act, Right.SET_DEVICE_IN_SERVICE)
    return tuple(base for base in bases(act) if has_right(act.actor, Right.SET_DEVICE_IN_SERVICE, act.today, base.id))


def devices_listed(act: Act) -> tuple[DeviceLine, ...]:
    """Return all revisions of all bases, those in service first, by base; two statements whatever their number."""
    mine = {base.id for base in bases_to_record_for(act)}
    known = {base.id: base for base in bases(act)}
    rows = act.session.execute(
        select(DeviceInService, Person.name).join(Person, Person.id == DeviceInService.recorded_by)
    )
    lines = [
        DeviceLine(
            id=row.id,
            base=known[row.base_id],
            profile_code=row.profile_code,
            profile_revision=row.profile_revision,
            from_day=row.from_day,
            until_day=row.until_day,
            recorded_by=name,
            is_in_service=row.from_day <= act.today and (row.until_day is None or act.today <= row.until_day),
            may_change=row.base_id in mine,
        )
        for row, name in rows
    ]
    return tuple(sorted(lines, key=lambda one: (not one.is_in_service, one.base.name, one.label, one.from_day)))


def device_listed(act: Act, device_id: str) -> DeviceLine:
    """Return one revision of a base the actor records for; raise NotFound otherwise."""
    for line in devices_listed(act):
        if line.id == device_id and line.may_change:
            return line
    raise NotFound("There is no such device in service at a base you record for.")
