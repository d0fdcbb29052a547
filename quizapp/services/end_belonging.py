"""A person's time here ends: the standing with it, paths and adjustments too; or its last day is set beforehand."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.fair_paths import LONGEST_PATH_MONTHS, PathOutcome
from quizapp.assessment.permissions import Right
from quizapp.assessment.role_grants import RoleWanted
from quizapp.assessment.roles import Role
from quizapp.assessment.validity import add_months
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.grant_role import close_grant, propose_role
from quizapp.services.require_right import refuse_oneself, require_right
from quizapp.store.fair_paths import Departure, FairPath, SittingAdjustment
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant


def end_standing_of_leaver(act: Act, person: Person, last_day: date) -> None:
    """End standing, paths and adjustments of somebody who leaves; every record stays, notes on adjustments do not."""
    act.session.add(
        Departure(
            id=act.randomness.new_id(),
            person_id=person.id,
            last_day=last_day,
            recorded_by=act.actor.person_id,
            recorded_at=act.now,
        )
    )
    for path in act.session.scalars(
        select(FairPath).where(FairPath.person_id == person.id, FairPath.closed_at.is_(None))
    ):
        path.closed_at, path.closed_by = act.now, act.actor.person_id
        path.outcome, path.outcome_words = PathOutcome.ENDED.value, "The person's time here ended."
        record(act, AuditEvent.PATH_CLOSED, "fair_path", path.id, person_id=person.id, thing=f"{path.kind} ended")
    for adjustment in act.session.scalars(select(SittingAdjustment).where(SittingAdjustment.person_id == person.id)):
        adjustment.room = ""
        if adjustment.ended_at is None:
            adjustment.ended_at, adjustment.ended_by = act.now, act.actor.person_id
            record(act, AuditEvent.ADJUSTMENT_ENDED, "sitting_adjustment", adjustment.id)


def set_engagement(act: Act, *, person_id: str, until_day: date | None) -> None:
    """Set the last day of somebody's engagement (None: they stay): role and standing end with it by themselves.

    Raises NotFound, NotAllowed, Conflict once an engagement is over, BadInput naming the field.
    """
    require_right(act, Right.IMPORT_PEOPLE)
    refuse_oneself(act, person_id, "set the end of their own engagement")
    person = act.session.get(Person, person_id)
    if person is None:
        raise NotFound("There is no such person.")
    if person.left_on is not None:
        raise Conflict("This person left the service already. Nothing was changed.")
    if person.engaged_until is not None and person.engaged_until < act.today:
        raise Conflict("This engagement is over. Record that the person left, then the return. Nothing was changed.")
    latest = add_months(act.today, LONGEST_PATH_MONTHS)
    if until_day is not None and not act.today <= until_day <= latest:
        raise BadInput(f"An engagement ends between today and {latest.isoformat()}.", field="until_day")
    person.engaged_until = until_day
    record(act, AuditEvent.ENGAGEMENT_SET, "person", person_id, person_id=person_id,
           after={"until": until_day.isoformat() if until_day else ""})  # fmt: skip
    _clinician_until(act, person, until_day)


def _clinician_until(act: Act, person: Person, until_day: date | None) -> None:
    """Give the role of clinician anew, with the engagement's last day as its own."""
    held = select(RoleGrant).where(
        RoleGrant.person_id == person.id, RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_on.is_(None)
    )
    for grant in act.session.scalars(held):
        close_grant(act, grant)
    act.session.flush()
    wanted = RoleWanted(
        role=Role.CLINICIAN,
        base_id=person.base_id,
        from_day=max(act.today, person.joined_on),
        until_day=until_day,
        recognised=False,
        reason="the length of the engagement was set",
    )
    propose_role(act, person_id=person.id, wanted=wanted)
