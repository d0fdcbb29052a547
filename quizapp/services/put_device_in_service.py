"""A base records which device profile revisions are in its packs, from which day until which day."""

from __future__ import annotations

from datetime import date

from sqlalchemy import or_, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.devices import DeviceInService
from quizapp.store.people import RescueBase


def put_in_service(
    act: Act, library: Library, *, base_id: str, profile_code: str, profile_revision: int, from_day: date
) -> str:
    """Record that a revision of the library is in a base's packs from a day on, inclusive; return the id.

    The day may lie in the past, since this records what is so. Raises Conflict when the base has it then already.
    """
    require_right(act, Right.SET_DEVICE_IN_SERVICE)
    base = act.session.get(RescueBase, base_id)
    if base is None:
        raise NotFound("There is no such base.")
    require_right(act, Right.SET_DEVICE_IN_SERVICE, base_id)
    profile = library.profile(profile_code, profile_revision)
    there = select(DeviceInService.id).where(
        DeviceInService.base_id == base_id,
        DeviceInService.profile_code == profile.code,
        DeviceInService.profile_revision == profile.revision,
        or_(DeviceInService.until_day.is_(None), DeviceInService.until_day >= from_day),
    )
    if act.session.scalar(there) is not None:
        raise Conflict(f"{base.name} has {profile.label} in service on that day or after it already.")
    row = DeviceInService(
        id=act.randomness.new_id(),
        base_id=base_id,
        profile_code=profile.code,
        profile_revision=profile.revision,
        from_day=from_day,
        until_day=None,
        recorded_by=act.actor.person_id,
        recorded_at=act.now,
        taken_out_at=None,
    )
    act.session.add(row)
    record(act, AuditEvent.DEVICE_PUT_IN_SERVICE, "device_in_service", row.id, thing=profile.label,
           after={"base": base_id, "from": from_day.isoformat()})  # fmt: skip
    return row.id


def take_out_of_service(act: Act, *, device_id: str, until_day: date) -> None:
    """Record the last day, inclusive, on which a base has a revision in its packs."""
    require_right(act, Right.SET_DEVICE_IN_SERVICE)
    row = act.session.scalar(select(DeviceInService).where(DeviceInService.id == device_id).with_for_update())
    if row is None:
        raise NotFound("There is no such device in service.")
    require_right(act, Right.SET_DEVICE_IN_SERVICE, row.base_id)
    if row.until_day is not None:
        raise Conflict("This was taken out of service already. Nothing was changed.")
    if until_day < row.from_day:
        raise BadInput("The last day lies before the first day.", field="until_day")
    row.until_day, row.taken_out_at = until_day, act.now
    record(act, AuditEvent.DEVICE_TAKEN_OUT, "device_in_service", row.id,
           thing=f"{row.profile_code} revision {row.profile_revision}",
           after={"base": row.base_id, "until": until_day.isoformat()})  # fmt: skip
