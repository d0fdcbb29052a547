"""Sheets of one performance: joining a second one, keeping each from the other's assessor, and which may count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.double_settlement import Settlement
from quizapp.errors import BadInput, Conflict
from quizapp.services.act import Act
from quizapp.store.observations import Comparison, Observation
from quizapp.store.people import Person

JOINED_WITHIN = timedelta(hours=12)
WAITS_FOR_THE_OTHER = timedelta(hours=24)
"""So long a locked sheet waits for the other one; after that an unfinished sheet holds up nobody."""
SHEETS_OF_ONE = 2


@dataclass(frozen=True, kw_only=True)
class SheetToJoin:
    """An open or locked sheet of another assessor about the same person and procedure; nothing of what it says."""

    id: str
    assessor_name: str
    opened_at: datetime


def sheets_to_join(act: Act, *, person_id: str, procedure: str) -> tuple[SheetToJoin, ...]:
    """Return the sheets whose performance the actor may mark as well, newest first."""
    rows = act.session.execute(
        select(Observation, Person.name)
        .join(Person, Person.id == Observation.assessor_id)
        .where(
            Observation.person_id == person_id,
            Observation.procedure == procedure,
            Observation.assessor_id != act.actor.person_id,
            Observation.voided_at.is_(None),
            Observation.transcribed_by.is_(None),
            Observation.signature_id.is_(None),
            Observation.opened_at >= act.now - JOINED_WITHIN,
        )
        .order_by(Observation.opened_at.desc(), Observation.id)
    ).all()
    taken = _sheets_by_performance(act, [row.performance_id for row, _ in rows])
    return tuple(
        SheetToJoin(id=row.id, assessor_name=name, opened_at=row.opened_at)
        for row, name in rows
        if len(taken[row.performance_id]) < SHEETS_OF_ONE
    )


def join_performance(act: Act, row: Observation, joined_id: str) -> None:
    """Let a new sheet share the performance of another one; both must have settled the same card.

    Raises BadInput (field "together") for a sheet that cannot be joined or has another card.
    """
    choices = sheets_to_join(act, person_id=row.person_id, procedure=row.procedure)
    other = act.session.get(Observation, joined_id, with_for_update=True)
    if other is None or joined_id not in {one.id for one in choices}:
        raise BadInput(
            "That sheet cannot be joined any more. Nothing was opened. Choose again, or open a sheet of your own.",
            field="together",
        )
    if _card(other) != _card(row):
        raise BadInput(
            f"The other sheet says {other.profile_code} revision {other.profile_revision}, setting {other.setting}, "
            f"called for: {', '.join(other.presented) or 'nothing'}. Nothing was opened. Settle the same card with "
            "the other assessor, then open yours.",
            field="together",
        )
    row.performance_id = other.performance_id


def other_sheets(act: Act, row: Observation) -> tuple[Observation, ...]:
    """Return the other sheets of the same performance that were not discarded."""
    return tuple(one for one in _sheets_by_performance(act, [row.performance_id])[row.performance_id] if one is not row)


def is_hidden(act: Act, row: Observation) -> bool:
    """Whether this sheet is kept from the actor: the other assessor of a performance of which a sheet is still open."""
    others = other_sheets(act, row)
    marks_it_too = any(one.assessor_id == act.actor.person_id for one in others)
    return marks_it_too and any(one.locked_at is None for one in (row, *others))


def check_the_other(act: Act, row: Observation) -> None:
    """Raise Conflict while a sheet may not be signed yet because of the other one of the same performance."""
    others = other_sheets(act, row)
    if any(one.locked_at is None and act.now - one.opened_at < WAITS_FOR_THE_OTHER for one in others):
        raise Conflict(
            "Another assessor marks the same performance and has not locked yet. Nothing was signed, your marks are "
            "kept. Sign once both sheets are locked; after a day the other one holds up nothing."
        )
    if _differ(row, others) and settlement_of(act, row.performance_id) is None:
        raise Conflict(
            "The two sheets of this performance say different things. Nothing was signed. An educator of the base "
            "looks at both and decides first."
        )


def may_count(act: Act, row: Observation) -> bool:
    """Whether a sheet may count for sign-off beside the others of its performance: once only, and if it stands."""
    settled = settlement_of(act, row.performance_id)
    if settled is not None and settled.outcome == Settlement.ONE_STANDS:
        return settled.stands_id == row.id
    if settled is not None and settled.outcome == Settlement.OBSERVE_AGAIN:
        return False
    return not any(one.signature_id for one in other_sheets(act, row))


def settlement_of(act: Act, performance_id: str) -> Comparison | None:
    """Return what was decided about the sheets of a performance, if anything was."""
    return act.session.scalar(select(Comparison).where(Comparison.performance_id == performance_id))


def _differ(row: Observation, others: Sequence[Observation]) -> bool:
    decisions = {one.result["decision"] for one in (row, *others) if one.result}
    return len(decisions) > 1


def _card(row: Observation) -> tuple[object, ...]:
    return (
        row.content_hash, row.profile_code, row.profile_revision, row.setting, tuple(row.presented),
        [step["letter"] for step in row.frozen["steps"]],
    )  # fmt: skip


def _sheets_by_performance(act: Act, performance_ids: Sequence[str]) -> dict[str, list[Observation]]:
    found: dict[str, list[Observation]] = {one: [] for one in performance_ids}
    wanted = select(Observation).where(Observation.performance_id.in_(set(performance_ids)))
    for row in act.session.scalars(wanted.where(Observation.voided_at.is_(None)).order_by(Observation.opened_at)):
        found[row.performance_id].append(row)
    return found
