"""Double observations: both sheets of one performance side by side, and all of them for the figures of agreement."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import select

from quizapp.assessment.assessor_agreement import DoubleObservation
from quizapp.assessment.double_observation import DoubleComparison, compare_sheets
from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.person_rules import Allowed, may_decide
from quizapp.assessment.roles import Role, bases_for
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.observation_sheet import Sheet, sheet_of
from quizapp.services.performance_pairs import SHEETS_OF_ONE, settlement_of
from quizapp.store.observations import Comparison, Observation
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class Settled:
    """What was decided about two sheets, by whom and why."""

    outcome: Settlement
    stands_id: str
    third_name: str
    reason: str
    decided_by_name: str
    decided_at: datetime


@dataclass(frozen=True, kw_only=True)
class DoubleView:
    """One performance with both sheets locked; `may_settle` says whether the actor may decide about them now."""

    performance_id: str
    first: Sheet
    second: Sheet
    comparison: DoubleComparison
    settled: Settled | None
    may_settle: bool


@dataclass(frozen=True, kw_only=True)
class DoubleLine:
    """One double observation in a list."""

    performance_id: str
    person_name: str
    title: str
    opened_at: datetime
    decisions: tuple[Decision, Decision]
    is_settled: bool

    @property
    def needs_a_decision(self) -> bool:
        """Whether the two sheets say different things and nobody has looked at them yet."""
        return self.decisions[0] is not self.decisions[1] and not self.is_settled


def double_view(act: Act, performance_id: str) -> DoubleView:
    """Return both sheets of a performance, for its two assessors and for educators of the base.

    Raises NotFound for anybody else, for the person observed, and while a sheet is still open.
    """
    rows = locked_pair(act, performance_id)
    first, second = (sheet_of(act, row) for row in rows)
    stored = settlement_of(act, performance_id)
    return DoubleView(
        performance_id=performance_id,
        first=first,
        second=second,
        comparison=compare_sheets(first.procedure, first.result, second.result),
        settled=_settled(act, stored) if stored else None,
        may_settle=stored is None and not any(row.signature_id for row in rows) and settles(act, rows),
    )


def can_compare(act: Act, performance_id: str) -> bool:
    """Whether the actor may see two locked sheets of this performance side by side."""
    try:
        locked_pair(act, performance_id)
    except NotFound:
        return False
    return True


def locked_pair(act: Act, performance_id: str, *, for_change: bool = False) -> tuple[Observation, Observation]:
    """Return the two locked sheets of a performance the actor may see; raises NotFound otherwise."""
    wanted = select(Observation).where(
        Observation.performance_id == performance_id, Observation.voided_at.is_(None)
    ).order_by(Observation.opened_at, Observation.id)  # fmt: skip
    rows = list(act.session.scalars(wanted.with_for_update() if for_change else wanted))
    is_pair = len(rows) == SHEETS_OF_ONE and all(row.locked_at is not None for row in rows)
    if not is_pair or not (settles(act, rows) or act.actor.person_id in {row.assessor_id for row in rows}):
        raise NotFound("There are no two locked sheets of one performance here for you to compare.")
    return rows[0], rows[1]


def settles(act: Act, rows: Sequence[Observation]) -> bool:
    """Whether the actor may decide about these sheets: an educator of the base who neither marked nor was watched."""
    verdict = may_decide(
        act.actor,
        person_id=rows[0].person_id,
        base_id=rows[0].base_id,
        sole_assessor_ids=frozenset(row.assessor_id for row in rows),
        day=act.today,
    )
    return isinstance(verdict, Allowed)


def doubles_seen(act: Act) -> tuple[DoubleLine, ...]:
    """Return the double observations the actor may compare, newest first, with three statements."""
    pairs = [pair for pair in _pairs(act) if settles(act, pair) or act.actor.person_id in _assessors(pair)]
    names = _names(act, {pair[0].person_id for pair in pairs})
    settled = set(act.session.scalars(select(Comparison.performance_id)))
    lines = [
        DoubleLine(
            performance_id=first.performance_id,
            person_name=names[first.person_id],
            title=f"{first.procedure} {first.frozen['title']}",
            opened_at=first.opened_at,
            decisions=(Decision(first.result["decision"]), Decision(second.result["decision"])),  # type: ignore[index]
            is_settled=first.performance_id in settled,
        )
        for first, second in pairs
    ]
    return tuple(sorted(lines, key=lambda line: line.opened_at, reverse=True))


def doubles_for_figures(act: Act) -> tuple[DoubleObservation, ...]:
    """Return every double observation at bases where the actor is educator, for the figures of agreement."""
    reach = bases_for(act.actor.roles_held, Role.EDUCATOR, act.today)
    return tuple(_for_figures(pair) for pair in _pairs(act) if pair[0].base_id in reach)


def assessor_names(act: Act, doubles: Sequence[DoubleObservation]) -> dict[str, str]:
    """Return the names of all assessors in double observations."""
    return _names(act, {assessor for one in doubles for assessor in one.assessor_ids})


def _pairs(act: Act) -> list[tuple[Observation, Observation]]:
    """Every performance with two locked sheets, found by the second sheet, whose performance bears another's id."""
    shared = select(Observation.performance_id).where(Observation.performance_id != Observation.id)
    rows = act.session.scalars(
        select(Observation)
        .where(Observation.performance_id.in_(shared), Observation.locked_at.is_not(None))
        .where(Observation.voided_at.is_(None))
        .order_by(Observation.opened_at, Observation.id)
    )
    found: dict[str, list[Observation]] = defaultdict(list)
    for row in rows:
        found[row.performance_id].append(row)
    return [(pair[0], pair[1]) for pair in found.values() if len(pair) == SHEETS_OF_ONE]


def _assessors(pair: Sequence[Observation]) -> set[str]:
    return {row.assessor_id for row in pair}


def _for_figures(pair: tuple[Observation, Observation]) -> DoubleObservation:
    first, second = pair
    results = [first.result or {}, second.result or {}]
    marks = [{step: StepMark(mark) for step, mark in result["marks"].items()} for result in results]
    return DoubleObservation(
        procedure=first.procedure,
        assessor_ids=(first.assessor_id, second.assessor_id),
        decisions=(Decision(results[0]["decision"]), Decision(results[1]["decision"])),
        marks=(marks[0], marks[1]),
        totals=(_total(first), _total(second)),
    )


def _total(row: Observation) -> float | None:
    """The weighted share of the steps, as it was judged at the lock."""
    share = (row.result or {}).get("steps_fraction")
    return None if share is None else float(Fraction(share))


def _settled(act: Act, stored: Comparison) -> Settled:
    names = _names(act, {stored.decided_by, *([stored.third_id] if stored.third_id else [])})
    return Settled(
        outcome=Settlement(stored.outcome),
        stands_id=stored.stands_id or "",
        third_name=names.get(stored.third_id or "", ""),
        reason=stored.reason,
        decided_by_name=names[stored.decided_by],
        decided_at=stored.decided_at,
    )


def _names(act: Act, person_ids: set[str]) -> dict[str, str]:
    found = act.session.execute(select(Person.id, Person.name).where(Person.id.in_(person_ids)))
    return {row.id: row.name for row in found}
