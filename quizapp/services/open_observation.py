"""Opens an observation sheet: who is watched by whom, doing what, on which device, with which steps called for."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_settings import Track
from quizapp.assessment.frozen_procedure import to_json
from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.person_rules import Allowed, Verdict, may_observe
from quizapp.assessment.procedures import Procedure, for_profile
from quizapp.assessment.roles import Role, bases_for
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.assessor_currency import AssessorCurrency
from quizapp.services.content_in_force import content_in_force
from quizapp.services.devices_in_service import ProfileRevision, revisions_in_service
from quizapp.services.foretell import foretell
from quizapp.services.performance_pairs import join_performance
from quizapp.services.procedures_in_force import procedure_in_force
from quizapp.store.observations import Observation
from quizapp.store.people import Person

LONGEST_CONNECTION = 500


@dataclass(frozen=True, kw_only=True)
class Watched:
    """What an assessor settles before the start: device, setting, and the steps the scenario presents.

    `connection` is how the assessor and the person are connected, "" for not at all; `together_with` is the sheet of
    another assessor who marks the same performance, "" for nobody.
    """

    profile_code: str
    profile_revision: int
    setting: ObservationSetting
    presented: frozenset[str]
    connection: str = ""
    together_with: str = ""


def open_observation(
    act: Act,
    *,
    library: Library,
    person_id: str,
    procedure_code: str,
    watched: Watched,
    is_current: AssessorCurrency,
) -> str:
    """Open a sheet at the base of the person observed and return its id.

    Raises NotFound for a person or procedure the actor may not know of, NotAllowed without the assessor's role at
    that base or for oneself, BadInput naming the field for a device that is not in service there or a step that is
    no conditional one. An assessor who is not current may note, and the sheet will say so.
    """
    person = person_to_observe(act, person_id)
    procedure = as_done_here(act, library, procedure_code, person.base_id, watched)
    observation_id = act.randomness.new_id()
    row = Observation(
        id=observation_id,
        performance_id=observation_id,
        person_id=person.id,
        assessor_id=act.actor.person_id,
        base_id=person.base_id,
        procedure=procedure.code,
        content_hash=procedure.content_hash,
        counts_for_sign_off=content_in_force(act).counts(procedure),
        frozen=to_json(procedure),
        profile_code=watched.profile_code,
        profile_revision=watched.profile_revision,
        setting=watched.setting.value,
        presented=sorted(watched.presented),
        assessor_was_current=is_current(act, person_id=act.actor.person_id, competencies=procedure.competencies),
        opened_at=act.now,
        connection=connection_of(watched.connection),
    )
    if watched.together_with:
        join_performance(act, row, watched.together_with)
    act.session.add(row)
    foretell(act, person_id=person.id, track=Track.PERFORMANCE, competencies=procedure.competencies, source_id=row.id)
    _tell(act, row, procedure)
    return row.id


def _tell(act: Act, row: Observation, procedure: Procedure) -> None:
    audit_trail.record(
        act, AuditEvent.OBSERVATION_STARTED, "observation", row.id, person_id=row.person_id, thing=procedure.code,
        after={"version": procedure.version, "device": f"{row.profile_code} revision {row.profile_revision}",
               "setting": row.setting, "presented": row.presented, "assessor_current": row.assessor_was_current,
               "connection_declared": row.connection is not None, "performance": row.performance_id},
    )  # fmt: skip


def connection_of(words: str) -> str | None:
    """Return a declared connection as it is kept; raises BadInput (field "connection") when it is too long."""
    said = words.replace("\x00", "").strip()
    if len(said) > LONGEST_CONNECTION:
        raise BadInput(
            f"The connection has {len(said)} characters; at most {LONGEST_CONNECTION} can be kept. Nothing was opened.",
            field="connection",
        )
    return said or None


def person_to_observe(act: Act, person_id: str) -> Person:
    """Return a person the actor may observe today.

    Raises NotAllowed for oneself, NotFound for anybody outside the bases where the actor is assessor.
    """
    if person_id == act.actor.person_id:
        raise NotAllowed("Nobody observes themselves. Nothing was opened. Ask another assessor to watch you.")
    person = act.session.get(Person, person_id)
    may_note = person is not None and person.left_on is None and isinstance(_note_verdict(act, person), Allowed)
    if person is None or not may_note:
        raise NotFound("There is nobody here whom you can observe. You observe people at bases where you are assessor.")
    return person


def _note_verdict(act: Act, person: Person) -> Verdict:
    """Who is not current may note; whether they may sign is asked again at the signature."""
    return may_observe(act.actor, observed_id=person.id, base_id=person.base_id, is_current=True, day=act.today)


def people_to_observe(act: Act) -> tuple[Person, ...]:
    """Return everybody the actor may observe today, by name, with one statement."""
    reach = bases_for(act.actor.roles_held, Role.ASSESSOR, act.today)
    wanted = select(Person).where(Person.left_on.is_(None), Person.id != act.actor.person_id)
    if not reach.whole_service:
        wanted = wanted.where(Person.base_id.in_(reach.base_ids))
    return tuple(act.session.scalars(wanted.order_by(Person.name, Person.staff_number)))


def devices_for(act: Act, person: Person) -> tuple[ProfileRevision, ...]:
    """Return the device revisions in service today at the base of the person observed."""
    return revisions_in_service(act, [person.base_id])[person.base_id]


def as_done_here(act: Act, library: Library, code: str, base_id: str, watched: Watched) -> Procedure:
    """Return the procedure on the device named, after checking device and steps presented; raises BadInput."""
    procedure = procedure_in_force(act, library, code)
    device = (watched.profile_code, watched.profile_revision)
    if device not in revisions_in_service(act, [base_id])[base_id]:
        raise BadInput(
            f"{device[0]} revision {device[1]} is not in service at this base today. Nothing was opened. "
            "Choose a device that is in the packs there, or have it put in service first.",
            field="device",
        )
    procedure = for_profile(procedure, library.profile(*device))
    strange = sorted(watched.presented - procedure.conditional_letters)
    if strange:
        raise BadInput(
            f"{', '.join(strange)} is not a step that only some scenarios call for. Nothing was opened. "
            "Choose again which of those steps the scenario presents.",
            field="presented",
        )
    return procedure
