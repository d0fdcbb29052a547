"""A device that failed while somebody was watched: its lot number, its base, and what was seen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role, bases_for
from quizapp.errors import BadInput
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.observation_sheet import own_row
from quizapp.services.require_right import require_right
from quizapp.store.observations import FaultReport
from quizapp.store.people import Person, RescueBase

LONGEST_LOT = 64
LONGEST_WORDS = 2000
NEWEST = 200


@dataclass(frozen=True, kw_only=True)
class FaultLine:
    """One report as it is listed; the person who was watched is not named."""

    id: str
    base_name: str
    device: str
    lot_number: str
    step: str
    what: str
    reported_by: str
    reported_at: datetime


def report_device_fault(
    act: Act, *, observation_id: str, lot_number: str, step: str, what: str, report_id: str = ""
) -> str:
    """Keep a fault report beside the actor's own sheet and return its id; the sheet itself is not changed.

    `step` is the step at which it showed, "" for none; `report_id` is the id a device gave it, "" for a new one.
    Raises NotFound for another assessor's sheet, BadInput naming the field for a missing lot number, missing or too
    long words, or a letter that is no step.
    """
    row = own_row(act, observation_id)
    lot, words = lot_number.replace("\x00", "").strip(), what.replace("\x00", "").strip()
    if not lot or len(lot) > LONGEST_LOT:
        raise BadInput(
            f"Write the lot number as on the label, at most {LONGEST_LOT} characters; nothing was reported yet.",
            field="lot_number",
        )
    if not words or len(words) > LONGEST_WORDS:
        raise BadInput(
            f"Write what you saw, with at most {LONGEST_WORDS} characters; nothing was reported yet.", field="what"
        )
    if step and step not in {one["letter"] for one in row.frozen["steps"]}:
        raise BadInput("That is no step of this procedure; nothing was reported yet.", field="step")
    report = FaultReport(
        id=report_id or act.randomness.new_id(),
        observation_id=row.id,
        base_id=row.base_id,
        profile_code=row.profile_code,
        profile_revision=row.profile_revision,
        lot_number=lot,
        step=step or None,
        what=words,
        reported_by=act.actor.person_id,
        reported_at=act.now,
    )
    act.session.add(report)
    audit_trail.record(
        act, AuditEvent.DEVICE_FAULT_REPORTED, "device_fault_report", report.id,
        thing=f"{row.profile_code} revision {row.profile_revision}", after={"observation": row.id, "step": step},
    )  # fmt: skip
    return report.id


def faults_of_sheet(act: Act, observation_id: str) -> tuple[FaultLine, ...]:
    """Return the reports made beside a sheet; who may see the sheet is for the caller to say."""
    return _lines(act, FaultReport.observation_id == observation_id)


def faults_reported(act: Act) -> tuple[FaultLine, ...]:
    """Return the newest reports from bases where the actor says which device is in service; raises NotAllowed."""
    require_right(act, Right.SET_DEVICE_IN_SERVICE)
    bases = [bases_for(act.actor.roles_held, role, act.today) for role in (Role.EDUCATOR, Role.TEAM_LEAD)]
    if any(one.whole_service for one in bases):
        return _lines(act, FaultReport.id.is_not(None))
    return _lines(act, FaultReport.base_id.in_({base_id for one in bases for base_id in one.base_ids}))


def _lines(act: Act, condition: ColumnElement[bool]) -> tuple[FaultLine, ...]:
    rows = act.session.execute(
        select(FaultReport, RescueBase.name, Person.name)
        .join(RescueBase, RescueBase.id == FaultReport.base_id)
        .join(Person, Person.id == FaultReport.reported_by)
        .where(condition)
        .order_by(FaultReport.reported_at.desc(), FaultReport.id)
        .limit(NEWEST)
    )
    return tuple(
        FaultLine(
            id=report.id,
            base_name=base_name,
            device=f"{report.profile_code} revision {report.profile_revision}",
            lot_number=report.lot_number,
            step=report.step or "",
            what=report.what,
            reported_by=name,
            reported_at=report.reported_at,
        )
        for report, base_name, name in rows
    )
