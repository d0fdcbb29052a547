"""Opens a sheet for a record on paper: who watched, when, and who writes it over; the assessor who watched signs."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.frozen_procedure import to_json
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.content_in_force import content_in_force
from quizapp.services.open_observation import Watched, as_done_here, connection_of, person_to_observe
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant

OLDEST = timedelta(days=60)
"""Older sheets are no longer entered: nobody remembers what is unclear on them (ours)."""


def enter_paper_record(
    act: Act,
    *,
    library: Library,
    person_id: str,
    procedure_code: str,
    watched: Watched,
    assessor_id: str,
    watched_on: date,
    watched_from: time,
) -> str:
    """Open a sheet on which the actor marks what a paper sheet says, and return its id.

    `watched_on` and `watched_from` are day and minute in the service's zone, at most OLDEST ago. Raises like
    `open_observation`; BadInput (field "assessor" or "watched_on") for whoever was no assessor of the base on that
    day, and for a day to come or long gone. Only the assessor named can sign it, and it counts only then.
    """
    person = person_to_observe(act, person_id)
    moment = _moment(act, watched_on, watched_from)
    _refuse_a_stranger(act, person, assessor_id, watched_on)
    procedure = as_done_here(act, library, procedure_code, person.base_id, watched)
    current_then = assessor_currency(library, at=moment)
    observation_id = act.randomness.new_id()
    row = Observation(
        id=observation_id,
        performance_id=observation_id,
        person_id=person.id,
        assessor_id=assessor_id,
        base_id=person.base_id,
        procedure=procedure.code,
        content_hash=procedure.content_hash,
        counts_for_sign_off=content_in_force(act).counts(procedure),
        frozen=to_json(procedure),
        profile_code=watched.profile_code,
        profile_revision=watched.profile_revision,
        setting=watched.setting.value,
        presented=sorted(watched.presented),
        assessor_was_current=current_then(act, person_id=assessor_id, competencies=procedure.competencies),
        opened_at=act.now,
        connection=connection_of(watched.connection),
        transcribed_by=act.actor.person_id,
        watched_at=moment,
    )
    act.session.add(row)
    _tell(act, row, procedure.version)
    return row.id


def _refuse_a_stranger(act: Act, person: Person, assessor_id: str, watched_on: date) -> None:
    if assessor_id not in {one.id for one in assessors_then(act, person, watched_on)}:
        raise BadInput(
            "That person was no assessor of this base on that day. Nothing was opened. Choose who watched.",
            field="assessor",
        )


def _tell(act: Act, row: Observation, version: int) -> None:
    audit_trail.record(
        act, AuditEvent.OBSERVATION_TRANSCRIBED, "observation", row.id, person_id=row.person_id, thing=row.procedure,
        after={"assessor": row.assessor_id, "version": version,
               "watched_at": row.watched_at.isoformat() if row.watched_at else "",
               "assessor_current_then": row.assessor_was_current},
    )  # fmt: skip


def assessors_then(act: Act, person: Person, day: date) -> tuple[Person, ...]:
    """Return who could watch a person on a day, by name: assessors of that base then, never the person."""
    wanted = (
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == Role.ASSESSOR.value, Person.id != person.id, RoleGrant.from_day <= day)
        .where((RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= day))
        .where((RoleGrant.ended_on.is_(None)) | (RoleGrant.ended_on > day))
        .where((RoleGrant.base_id.is_(None)) | (RoleGrant.base_id == person.base_id))
        .distinct()
        .order_by(Person.name, Person.id)
    )
    return tuple(act.session.scalars(wanted))


def _moment(act: Act, day: date, minute: time) -> datetime:
    moment = datetime.combine(day, minute, tzinfo=act.zone)
    if moment > act.now:
        raise BadInput(
            "That moment is still to come. Nothing was opened. Give when it was watched.", field="watched_on"
        )
    if moment < act.now - OLDEST:
        raise BadInput(
            f"That is more than {OLDEST.days} days ago. Nothing was opened. Observe again instead.", field="watched_on"
        )
    return moment.astimezone(act.now.tzinfo)
