"""Decides about two sheets of one performance, with a reason, and proposes who could watch a third time."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import ColumnElement, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.roles import Role
from quizapp.assessment.third_assessor import PossibleThird, propose_third
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.assessor_currency import AWAY
from quizapp.services.double_observations import locked_pair, settles
from quizapp.services.performance_pairs import settlement_of
from quizapp.services.person_standing import standings
from quizapp.store.observations import Comparison, Observation
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant

LONGEST_REASON = 2000
CONNECTED_FOR = timedelta(days=30)
"""Who was watched by somebody this lately is connected with them (ours; as for decisions on each other)."""
BUSY_FOR = timedelta(days=90)


def settle_double_observation(
    act: Act,
    *,
    library: Library,
    performance_id: str,
    outcome: Settlement,
    stands_id: str = "",
    third_id: str = "",
    reason: str,
) -> str:
    """Record what becomes of two sheets that were compared, and return the record's id.

    `stands_id` is the sheet that stands where one does; `third_id` may name one of those proposed where the
    performance is observed again. Raises NotFound for sheets the actor may not compare, NotAllowed for whoever marked
    one or is no educator of the base, Conflict when it was decided or a sheet signed already, BadInput with its field.
    """
    first, second = locked_pair(act, performance_id, for_change=True)
    if not settles(act, (first, second)):
        raise NotAllowed("An educator of this base who marked neither sheet decides. Nothing was changed.")
    if settlement_of(act, performance_id) is not None:
        raise Conflict("This was decided already. That decision stands; nothing was changed.")
    if first.signature_id or second.signature_id:
        raise Conflict("One of the sheets is signed already, so nothing was changed. Ask for it to be looked at again.")
    _check(outcome, stands_id, {first.id, second.id}, reason)
    if third_id:
        _check_third(act, library, (first, second), third_id, outcome)
    row = Comparison(
        id=act.randomness.new_id(),
        performance_id=performance_id,
        person_id=first.person_id,
        outcome=outcome.value,
        stands_id=stands_id if outcome is Settlement.ONE_STANDS else None,
        third_id=third_id or None,
        reason=reason.replace("\x00", "").strip(),
        decided_by=act.actor.person_id,
        decided_at=act.now,
    )
    act.session.add(row)
    audit_trail.record(
        act, AuditEvent.OBSERVATIONS_COMPARED, "observation_comparison", row.id, person_id=first.person_id,
        thing=first.procedure, after={"outcome": outcome.value, "sheets": [first.id, second.id],
                                      "stands": row.stands_id or "", "third": row.third_id or ""},
    )  # fmt: skip
    return row.id


def thirds_for(act: Act, library: Library, pair: tuple[Observation, Observation]) -> tuple[PossibleThird, ...]:
    """Return who could watch a third time, the least busy first; six statements whatever their number.

    Where nobody of the base can, those of other bases are named: they need the role here first.
    """
    people = _assessors(act)
    here = _role_holders_at(act, pair[0].base_id)
    bases = {row.id: row.name for row in act.session.execute(select(RescueBase.id, RescueBase.name))}
    stands = standings(act, library, people)
    busy, connected = _lately(act, [person.id for person in people])
    competencies = pair[0].frozen["competencies"]
    candidates = [
        PossibleThird(
            person_id=person.id,
            name=person.name,
            is_current=(
                stands[person.id].report.standing not in AWAY
                and not stands[person.id].report.conditions
                and all(stands[person.id].report.of_competency(one).is_in_date for one in competencies)
            ),
            connected_with=frozenset(connected.get(person.id, ())),
            watched_lately=busy.get(person.id, 0),
            elsewhere="" if person.id in here else bases[person.base_id],
        )
        for person in people
    ]
    return propose_third(
        candidates, person_id=pair[0].person_id, assessor_ids=(pair[0].assessor_id, pair[1].assessor_id)
    )


def _in_force(act: Act) -> tuple[ColumnElement[bool], ...]:
    return (
        RoleGrant.role == Role.ASSESSOR.value,
        RoleGrant.ended_at.is_(None),
        (RoleGrant.until_day.is_(None)) | (RoleGrant.until_day >= act.today),
        RoleGrant.from_day <= act.today,
    )


def _assessors(act: Act) -> list[Person]:
    wanted = select(Person).join(RoleGrant, RoleGrant.person_id == Person.id)
    wanted = wanted.where(*_in_force(act), Person.left_on.is_(None)).distinct().order_by(Person.name, Person.id)
    return list(act.session.scalars(wanted))


def _role_holders_at(act: Act, base_id: str) -> frozenset[str]:
    wanted = select(RoleGrant.person_id).where(*_in_force(act))
    wanted = wanted.where((RoleGrant.base_id.is_(None)) | (RoleGrant.base_id == base_id))
    return frozenset(act.session.scalars(wanted))


def _lately(act: Act, person_ids: list[str]) -> tuple[dict[str, int], dict[str, set[str]]]:
    """How many sheets each opened, and with whom each is connected: declared, or watched by them a short while ago."""
    busy: dict[str, int] = {}
    connected: dict[str, set[str]] = {}
    rows = act.session.execute(
        select(Observation.assessor_id, Observation.person_id, Observation.connection, Observation.opened_at)
        .where(Observation.assessor_id.in_(person_ids) | Observation.person_id.in_(person_ids))
        .where(Observation.voided_at.is_(None))
    )
    for assessor_id, person_id, connection, opened_at in rows:
        if opened_at >= act.now - BUSY_FOR:
            busy[assessor_id] = busy.get(assessor_id, 0) + 1
        if connection:
            connected.setdefault(assessor_id, set()).add(person_id)
            connected.setdefault(person_id, set()).add(assessor_id)
        if opened_at >= act.now - CONNECTED_FOR:
            connected.setdefault(person_id, set()).add(assessor_id)
    return busy, connected


def _check(outcome: Settlement, stands_id: str, sheets: set[str], reason: str) -> None:
    if outcome is Settlement.ONE_STANDS and stands_id not in sheets:
        raise BadInput("Choose which of the two sheets stands; nothing was decided yet.", field="stands")
    if not reason.strip():
        raise BadInput("Write why; nothing was decided yet.", field="reason")
    if len(reason) > LONGEST_REASON:
        raise BadInput(
            f"The reason has {len(reason)} characters; at most {LONGEST_REASON} can be kept. Nothing was decided yet.",
            field="reason",
        )


def _check_third(
    act: Act, library: Library, pair: tuple[Observation, Observation], third_id: str, outcome: Settlement
) -> None:
    if outcome is not Settlement.OBSERVE_AGAIN:
        raise BadInput("A third assessor is asked only to observe again; nothing was decided yet.", field="third")
    if third_id not in {one.person_id for one in thirds_for(act, library, pair)}:
        raise BadInput("That person cannot be the third assessor today; nothing was decided yet.", field="third")
