"""Starts a rehearsal: the steps of a procedure shuffled by a seed, frozen with the procedure as it stands today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select

from quizapp.assessment.frozen_procedure import from_json, to_json
from quizapp.assessment.procedures import Procedure, for_profile
from quizapp.assessment.rehearsal import shuffled_steps
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.procedures_in_force import procedure_in_force
from quizapp.store.people import Person
from quizapp.store.rehearsals import Rehearsal


@dataclass(frozen=True, kw_only=True)
class RehearsalView:
    """One's own rehearsal: the frozen procedure, the order shown, and the order given once it is finished."""

    id: str
    procedure: Procedure
    shown_order: tuple[str, ...]
    given_order: tuple[str, ...]
    started_at: datetime
    finished_at: datetime | None
    is_timed: bool
    first_critical_s: int | None


def start_rehearsal(act: Act, *, library: Library, procedure_code: str, is_timed: bool = False) -> str:
    """Freeze and shuffle a procedure for the actor and return the rehearsal's id; `is_timed` runs a clock beside it.

    Steps that the first device in service at the actor's base does not have are left out.
    Raises NotFound for a procedure that is not in the library.
    """
    procedure, _ = procedure_at_own_base(act, library, procedure_code)
    seed = int(act.randomness.seed(), 16)
    row = Rehearsal(
        id=act.randomness.new_id(),
        person_id=act.actor.person_id,
        procedure=procedure.code,
        content_hash=procedure.content_hash,
        frozen=to_json(procedure),
        shown_order=list(shuffled_steps(procedure, seed)),
        given_order=None,
        result=None,
        started_at=act.now,
        finished_at=None,
        is_timed=is_timed,
        first_critical_s=None,
    )
    act.session.add(row)
    act.session.flush()
    return row.id


def procedure_at_own_base(act: Act, library: Library, code: str) -> tuple[Procedure, str]:
    """Return a procedure as it stands for the first device in service at the actor's base, and that device's label.

    The label is "" where no device is in service. Raises like `procedure_in_force`.
    """
    procedure = procedure_in_force(act, library, code)
    base_id = act.session.scalar(select(Person.base_id).where(Person.id == act.actor.person_id)) or ""
    for profile_code, revision in revisions_in_service(act, [base_id])[base_id]:
        profile = library.profile(profile_code, revision)
        return for_profile(procedure, profile), profile.label
    return procedure, ""


def own_rehearsal(act: Act, rehearsal_id: str) -> RehearsalView:
    """Return one of the actor's own rehearsals; raises NotFound for any other."""
    row = own_rehearsal_row(act, rehearsal_id)
    return RehearsalView(
        id=row.id,
        procedure=from_json(row.frozen),
        shown_order=tuple(row.shown_order),
        given_order=tuple(row.given_order or ()),
        started_at=row.started_at,
        finished_at=row.finished_at,
        is_timed=row.is_timed,
        first_critical_s=row.first_critical_s,
    )


def own_rehearsal_row(act: Act, rehearsal_id: str) -> Rehearsal:
    """Return the stored row of one of the actor's own rehearsals; raises NotFound for any other."""
    row = act.session.get(Rehearsal, rehearsal_id)
    if row is None or row.person_id != act.actor.person_id:
        raise NotFound("There is no such rehearsal of yours. Start a new one from the procedure's page.")
    return row


def last_rehearsed(act: Act) -> dict[str, datetime]:
    """Return for each procedure the actor rehearsed to the end when that was last, with one statement."""
    rows = act.session.execute(
        select(Rehearsal.procedure, func.max(Rehearsal.finished_at, type_=Rehearsal.finished_at.type))
        .where(Rehearsal.person_id == act.actor.person_id, Rehearsal.finished_at.is_not(None))
        .group_by(Rehearsal.procedure)
    )
    return {code: moment for code, moment in rows if moment is not None}
