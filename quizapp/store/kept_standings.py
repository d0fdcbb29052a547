"""How people stand and will stand as time goes by, kept so that a whole service can be counted at once.

It can be rebuilt from the records at any time. Whatever changes a record it rests on throws it away in the same act.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import ForeignKey, String, delete, event
from sqlalchemy.orm import Mapped, ORMExecuteState, Session, UOWTransaction, mapped_column

from quizapp.store.columns import Json, Moment
from quizapp.store.decisions import Decision, StandingEnd, StandingEvent
from quizapp.store.devices import DeviceInService
from quizapp.store.fair_paths import Departure, LeaveReturn
from quizapp.store.model import Record
from quizapp.store.people import Person
from quizapp.store.record_seals import WritingSession
from quizapp.store.standards import Standard, StandardRequirement


class KeptStanding(Record):
    """One person at their base: for each moment from which they stand otherwise, how, and the first day that ends."""

    __tablename__ = "kept_standing"

    person_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="CASCADE"), primary_key=True)
    base_id: Mapped[str] = mapped_column(String(32), ForeignKey("base.id", ondelete="CASCADE"), index=True)
    steps: Mapped[Json]
    kept_at: Mapped[Moment]


PERSON_OF: dict[str, str] = {
    "decision": "person_id", "standing_event": "person_id", "standing_end": "person_id", "person": "id",
    "leave_return": "person_id", "departure": "person_id",
}  # fmt: skip
RESTED_ON_BY_ALL = frozenset({"device_in_service", "standard", "standard_requirement"})
AT_ONCE = 400


@event.listens_for(WritingSession, "after_flush")
def _forget_after_flush(session: Session, _context: UOWTransaction) -> None:
    """Throw away what rested on records that were written or changed."""
    people: set[str] = set()
    dirty = (one for one in session.dirty if session.is_modified(one))
    for one in (*session.new, *dirty, *session.deleted):
        if isinstance(one, (DeviceInService, Standard, StandardRequirement)):
            _forget(session, None)
            return
        if isinstance(one, (Decision, StandingEvent, StandingEnd, LeaveReturn, Departure)):
            people.add(one.person_id)
        elif isinstance(one, Person):
            people.add(one.id)
    _forget(session, people)


@event.listens_for(WritingSession, "do_orm_execute")
def _forget_after_statement(state: ORMExecuteState) -> None:
    """The same for an insert, update or delete of many rows; without the people's ids everything is thrown away."""
    if not (state.is_insert or state.is_update or state.is_delete):
        return
    statement: Any = state.statement
    name = statement.table.name
    if name in RESTED_ON_BY_ALL:
        _forget(state.session, None)
    elif name in PERSON_OF:
        given: Any = state.parameters
        rows = given if isinstance(given, list) else [given or {}]
        ids = {row.get(PERSON_OF[name]) for row in rows}
        is_named = None not in ids and getattr(statement, "whereclause", None) is None
        _forget(state.session, ids if is_named else None)


def _forget(session: Session, people: Iterable[Any] | None) -> None:
    """Throw away what is kept of some people (None: of everybody)."""
    connection = session.connection()
    if people is None:
        connection.execute(delete(KeptStanding))
        return
    ids = sorted(people)
    for start in range(0, len(ids), AT_ONCE):
        connection.execute(delete(KeptStanding).where(KeptStanding.person_id.in_(ids[start : start + AT_ONCE])))
