"""Who is on a path, who should be offered one, and one path as its person and the educators read it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.fair_paths import (
    TIMES_NOT_SHOWN,
    Named,
    NotShownTwice,
    PathKind,
    PathOutcome,
    StepName,
    StepRule,
    not_shown_twice,
    open_steps,
    step_rule,
)
from quizapp.assessment.leave import awaits_return
from quizapp.assessment.permissions import Right, has_right
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.evidence_of import evidence_items, evidence_rows
from quizapp.services.fair_paths import steps_done
from quizapp.services.person_standing import standings
from quizapp.services.require_right import require_right
from quizapp.services.who_may_be_named import Proposed, named_for
from quizapp.store.decisions import Decision
from quizapp.store.fair_paths import FairPath, FairPathStep
from quizapp.store.people import Person

NEW_FOR = timedelta(days=90)


@dataclass(frozen=True, kw_only=True)
class PathLine:
    """One path in a list: whose, of which kind, what is next, and until when."""

    id: str
    person_id: str
    person_name: str
    kind: PathKind
    about: str
    next_words: str
    until_day: date | None
    opened_at: datetime
    closed_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A person who should be offered a path, which one, and why, as a sentence without blame."""

    person_id: str
    person_name: str
    kind: PathKind
    about: str
    why: str


@dataclass(frozen=True, kw_only=True)
class StepLine:
    """One step as it was recorded."""

    words: str
    done_on: date
    said: str
    named: str
    recorded_by: str
    recorded_at: datetime


@dataclass(frozen=True, kw_only=True)
class OpenStep:
    """One step still to be recorded, with the people it may name."""

    rule: StepRule
    proposed: tuple[Proposed, ...]


@dataclass(frozen=True, kw_only=True)
class PathPage:
    """One path, whole: what was recorded, what comes next, what brought it."""

    row: FairPath
    kind: PathKind
    person_name: str
    opened_by: str
    done: tuple[StepLine, ...]
    open_steps: tuple[OpenStep, ...]
    outcome: PathOutcome | None


def paths_at_my_bases(act: Act) -> tuple[PathLine, ...]:
    """Return the open paths at the educator's bases, oldest first."""
    require_right(act, Right.DECIDE)
    rows = act.session.execute(
        select(FairPath, Person.name)
        .join(Person, Person.id == FairPath.person_id)
        .where(FairPath.closed_at.is_(None), FairPath.person_id != act.actor.person_id)
        .order_by(FairPath.opened_at, FairPath.id)
    ).all()
    mine = [(row, name) for row, name in rows if has_right(act.actor, Right.DECIDE, act.today, row.base_id)]
    return _lines(act, mine)


def my_paths(act: Act) -> tuple[PathLine, ...]:
    """Return the actor's own paths, open ones first, newest first."""
    rows = act.session.execute(
        select(FairPath, Person.name)
        .join(Person, Person.id == FairPath.person_id)
        .where(FairPath.person_id == act.actor.person_id)
        .order_by(FairPath.opened_at.desc(), FairPath.id)
    ).all()
    lines = _lines(act, [(row, name) for row, name in rows])
    return tuple(sorted(lines, key=lambda one: one.closed_at is not None))


def _lines(act: Act, rows: Sequence[tuple[FairPath, str]]) -> tuple[PathLine, ...]:
    done: dict[str, set[StepName]] = {}
    ids = [row.id for row, _ in rows]
    for path_id, step in act.session.execute(
        select(FairPathStep.path_id, FairPathStep.step).where(FairPathStep.path_id.in_(ids))
    ):
        done.setdefault(path_id, set()).add(StepName(step))
    lines = []
    for row, name in rows:
        waiting = open_steps(PathKind(row.kind), done.get(row.id, set()))
        lines.append(
            PathLine(
                id=row.id,
                person_id=row.person_id,
                person_name=name,
                kind=PathKind(row.kind),
                about=row.about,
                next_words=waiting[0].words if waiting else "Every step is recorded; close the path",
                until_day=row.until_day,
                opened_at=row.opened_at,
                closed_at=row.closed_at,
            )
        )
    return tuple(lines)


def proposals(act: Act, library: Library) -> tuple[Proposal, ...]:
    """Return who should be offered a path at the educator's bases and is on none of that kind, by name.

    A constant number of statements whatever the number of people.
    """
    require_right(act, Right.DECIDE)
    people = [
        person
        for person in act.session.scalars(select(Person).where(Person.left_on.is_(None)).order_by(Person.name))
        if person.id != act.actor.person_id and has_right(act.actor, Right.DECIDE, act.today, person.base_id)
    ]
    ids = [person.id for person in people]
    taken = {
        (row.person_id, row.kind)
        for row in act.session.scalars(
            select(FairPath).where(FairPath.person_id.in_(ids), FairPath.closed_at.is_(None))
        )
    }
    rows, stands = evidence_rows(act, ids), standings(act, library, people)
    decisions: dict[str, list[Decision]] = {}
    for decision in act.session.scalars(select(Decision).where(Decision.person_id.in_(ids))):
        decisions.setdefault(decision.person_id, []).append(decision)
    found: list[Proposal] = []
    for person in people:
        troubles = not_shown_twice(evidence_items(act, rows.get(person.id, []), decisions.get(person.id, [])))
        found += [_for_trouble(person, trouble) for trouble in troubles[:1]]
        back_on = awaits_return(stands[person.id].record.pauses, act.today)
        if back_on is not None:
            found.append(_proposal(person, PathKind.LONG_LEAVE, f"back since {day_in_words(back_on)}"))
        if person.id not in decisions and person.joined_on >= act.today - NEW_FOR:
            kind = PathKind.NEWCOMER if person.engaged_until is None else PathKind.LOCUM
            found.append(_proposal(person, kind, f"joined on {day_in_words(person.joined_on)}, nothing decided yet"))
    return tuple(one for one in found if (one.person_id, one.kind.value) not in taken)


def _for_trouble(person: Person, trouble: NotShownTwice) -> Proposal:
    times = "twice" if trouble.times == TIMES_NOT_SHOWN else f"{trouble.times} times"
    why = f"{trouble.about} was not shown {times} in a row, last on {day_in_words(trouble.last_on)}"
    return _proposal(person, PathKind.NOT_SHOWN_TWICE, why, about=trouble.about)


def _proposal(person: Person, kind: PathKind, why: str, *, about: str = "") -> Proposal:
    return Proposal(person_id=person.id, person_name=person.name, kind=kind, about=about, why=why)


def path_page(act: Act, library: Library, path_id: str) -> PathPage:
    """Return one path for its person and the educators of its base; raises NotFound for everybody else."""
    row = act.session.get(FairPath, path_id)
    own = row is not None and row.person_id == act.actor.person_id
    if row is None or not (own or has_right(act.actor, Right.DECIDE, act.today, row.base_id)):
        raise NotFound("There is no such path for you to see.")
    kind, done = PathKind(row.kind), steps_done(act, row.id)
    ids = {row.person_id, row.opened_by} | {step.recorded_by for step in done}
    ids |= {step.named_id for step in done if step.named_id}
    names = dict(iter(act.session.execute(select(Person.id, Person.name).where(Person.id.in_(ids)))))
    waiting = open_steps(kind, {StepName(step.step) for step in done}) if row.closed_at is None else ()
    return PathPage(
        row=row,
        kind=kind,
        person_name=names[row.person_id],
        opened_by=names[row.opened_by],
        done=tuple(_step_line(step, kind, names) for step in done),
        open_steps=tuple(
            OpenStep(rule=rule, proposed=() if own else _proposed(act, library, row, rule)) for rule in waiting
        ),
        outcome=PathOutcome(row.outcome) if row.outcome else None,
    )


def _proposed(act: Act, library: Library, row: FairPath, rule: StepRule) -> tuple[Proposed, ...]:
    return named_for(act, library, row, rule.names) if rule.names is not Named.NOBODY else ()


def _step_line(step: FairPathStep, kind: PathKind, names: dict[str, str]) -> StepLine:
    rule = step_rule(kind, StepName(step.step))
    return StepLine(
        words=rule.words if rule else step.step,
        done_on=step.done_on,
        said=step.words,
        named=names.get(step.named_id or "", ""),
        recorded_by=names[step.recorded_by],
        recorded_at=step.recorded_at,
    )
