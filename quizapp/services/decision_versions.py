"""One decision with all its versions: which stands, which was amended, and who may look at it or change it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import Conflict, NotFound
from quizapp.services.act import Act
from quizapp.store.decisions import Decision, DecisionVoid
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class Versions:
    """A decision's versions, the first one first; the last one is the one that stands unless it is void."""

    person: Person
    rows: tuple[Decision, ...]

    @property
    def newest(self) -> Decision:
        """The version that stands, or stood until it was voided."""
        return self.rows[-1]


def versions_of(act: Act, decision_id: str, *, right: Right) -> Versions:
    """Return a decision with its versions; raises NotFound outside the actor's bases and for the actor's own."""
    row = act.session.get(Decision, decision_id)
    if row is None or row.person_id == act.actor.person_id:
        raise NotFound("There is no such decision here.")
    person = act.session.get_one(Person, row.person_id)
    if not has_right(act.actor, right, act.today, person.base_id):
        raise NotFound("There is no such decision here.")
    same = select(Decision).where(Decision.person_id == row.person_id, Decision.competency == row.competency)
    return Versions(person=person, rows=chain_of(row, act.session.scalars(same)))


def chain_of(row: Decision, rows: Iterable[Decision]) -> tuple[Decision, ...]:
    """Return the versions of one decision out of all decisions on the person and competency, the first one first."""
    known = list(rows)
    by_id, after = {one.id: one for one in known}, {one.replaces_id: one for one in known if one.replaces_id}
    first = row
    while first.replaces_id is not None:
        first = by_id[first.replaces_id]
    chain = [first]
    while chain[-1].id in after:
        chain.append(after[chain[-1].id])
    return tuple(chain)


def standing_version(act: Act, decision_id: str, *, right: Right) -> Versions:
    """Return the versions of a decision that can still be changed; raises Conflict for a void or an older one."""
    found = versions_of(act, decision_id, right=right)
    if found.newest.voided_at is not None:
        raise Conflict("This decision was voided already. Nothing was changed.")
    if found.newest.id != decision_id:
        raise Conflict("This decision was amended since. Nothing was changed. Open the version that stands.")
    return found


def refuse_open_proposal(act: Act, decision_id: str) -> None:
    """Raise Conflict while somebody's proposal to void the decision waits for a second educator."""
    waiting = select(DecisionVoid.id).where(DecisionVoid.decision_id == decision_id, DecisionVoid.settled_at.is_(None))
    if act.session.scalar(waiting) is not None:
        raise Conflict(
            "Somebody proposed to void this decision. Nothing was changed; a second educator settles that first."
        )
