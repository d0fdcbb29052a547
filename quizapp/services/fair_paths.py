"""Fair paths: opened, walked step by step, and closed; the person reads everything that is written on theirs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.fair_paths import (
    LONGEST_PATH_MONTHS,
    WITH_A_COLLEAGUE,
    Named,
    PathKind,
    PathOutcome,
    StepName,
    open_steps,
    step_rule,
)
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.assessment.validity import add_months
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.end_standing_change import end_standing_change
from quizapp.services.require_right import require_right
from quizapp.services.who_may_be_named import named_for
from quizapp.store.decisions import StandingEnd, StandingEvent
from quizapp.store.fair_paths import FairPath, FairPathStep, LeaveReturn
from quizapp.store.people import Person

SHORTEST_WORDS = 10
LONGEST_WORDS = 2000
LONGEST_ABOUT = 200


@dataclass(frozen=True, kw_only=True)
class PathWanted:
    """A path to be opened. `about` names what was not shown twice; `until_day` ends the provisional standing."""

    kind: PathKind
    about: str
    reason: str
    until_day: date | None


@dataclass(frozen=True, kw_only=True)
class StepWanted:
    """A step to be recorded: which, on which day, in words, and whom it names ("" for nobody)."""

    step: StepName
    done_on: date
    words: str
    named_id: str = ""


def person_on_path(act: Act, person_id: str) -> Person:
    """Return a person for whom the actor may open a path: of the educator's bases, never oneself."""
    require_right(act, Right.DECIDE)
    if person_id == act.actor.person_id:
        raise NotAllowed("Nobody opens a path for themselves. Nothing was changed. Ask another educator.")
    person = act.session.get(Person, person_id)
    known = person is not None and has_right(act.actor, Right.DECIDE, act.today, person.base_id)
    if person is None or not known or person.left_on is not None:
        raise NotFound("There is nobody here for whom you open a path.")
    return person


def open_path(act: Act, *, person_id: str, wanted: PathWanted) -> str:
    """Open a path and return its id; but for a return from leave the person is restricted until its last day.

    Raises NotFound, NotAllowed, Conflict where such a path is open already, BadInput naming the field.
    """
    person = person_on_path(act, person_id)
    until_day = _until(act, person, wanted)
    _refuse_a_second(act, person_id, wanted)
    restriction_id = None
    if until_day is not None:
        restriction_id = change_standing(
            act,
            person_id,
            StandingChange(
                kind=StandingEventKind.RESTRICTED,
                from_day=act.today,
                until_day=until_day,
                reason=WITH_A_COLLEAGUE,
            ),
        )
    path = FairPath(
        id=act.randomness.new_id(),
        person_id=person.id,
        base_id=person.base_id,
        kind=wanted.kind.value,
        about=_about(wanted),
        reason=_words(wanted.reason, "reason"),
        until_day=until_day,
        restriction_id=restriction_id,
        opened_by=act.actor.person_id,
        opened_at=act.now,
        closed_by=None,
        closed_at=None,
        outcome=None,
        outcome_words=None,
    )
    act.session.flush()
    act.session.add(path)
    record(act, AuditEvent.PATH_OPENED, "fair_path", path.id, person_id=person.id, thing=wanted.kind.value,
           after={"until": until_day.isoformat() if until_day else "",
                  "restriction": restriction_id or ""})  # fmt: skip
    return path.id


def _until(act: Act, person: Person, wanted: PathWanted) -> date | None:
    """Return until when the person works with a current colleague, None where standing says so by itself."""
    if not wanted.kind.restricts:
        return None
    if wanted.kind is PathKind.LOCUM:
        if person.engaged_until is None:
            raise BadInput("An administrator enters the last day of the engagement first.", field="kind")
        return person.engaged_until
    latest = add_months(act.today, LONGEST_PATH_MONTHS)
    if wanted.until_day is None or not act.today <= wanted.until_day <= latest:
        raise BadInput(f"The provisional standing ends between today and {latest.isoformat()}.", field="until_day")
    return wanted.until_day


def _about(wanted: PathWanted) -> str:
    about = " ".join(wanted.about.split())
    if wanted.kind is PathKind.NOT_SHOWN_TWICE and not about:
        raise BadInput("Name what was not shown twice, for example P06.", field="about")
    if len(about) > LONGEST_ABOUT:
        raise BadInput(f"Write at most {LONGEST_ABOUT} characters.", field="about")
    return about


def _words(text: str, field: str) -> str:
    words = text.replace("\x00", "").strip()
    if not SHORTEST_WORDS <= len(words) <= LONGEST_WORDS:
        raise BadInput(f"Write {SHORTEST_WORDS} to {LONGEST_WORDS} characters; the person reads them.", field=field)
    return words


def _refuse_a_second(act: Act, person_id: str, wanted: PathWanted) -> None:
    same = select(FairPath.id).where(
        FairPath.person_id == person_id, FairPath.kind == wanted.kind.value, FairPath.closed_at.is_(None)
    )
    if act.session.scalar(same) is not None:
        raise Conflict("This person is on such a path already. Nothing was changed. Go on with that one.")


def open_row(act: Act, path_id: str) -> FairPath:
    """Return an open path of somebody at the educator's bases, locked for a change."""
    row = act.session.get(FairPath, path_id, with_for_update=True)
    if row is None:
        raise NotFound("There is no such path.")
    person_on_path(act, row.person_id)
    if row.closed_at is not None:
        raise Conflict("This path is closed. Nothing was changed.")
    return row


def steps_done(act: Act, path_id: str) -> list[FairPathStep]:
    """Return the steps recorded on a path, oldest first."""
    rows = act.session.scalars(select(FairPathStep).where(FairPathStep.path_id == path_id))
    return sorted(rows, key=lambda row: (row.recorded_at, row.id))


def record_step(act: Act, library: Library, *, path_id: str, wanted: StepWanted) -> str:
    """Record a step of a path and return its id; a step may be recorded more than once, the newest one holds.

    Raises NotFound, NotAllowed where only the other educator records it, Conflict, BadInput naming the field.
    """
    row = open_row(act, path_id)
    rule = step_rule(PathKind(row.kind), wanted.step)
    if rule is None:
        raise BadInput("This path has no such step.", field="step")
    if not row.opened_at.astimezone(act.zone).date() <= wanted.done_on <= act.today:
        raise BadInput("The day lies between the opening of the path and today.", field="done_on")
    if rule.only_other_educator:
        _check_other_educator(act, path_id)
    if rule.names is not Named.NOBODY:
        possible = {one.person_id for one in named_for(act, library, row, rule.names)}
        if wanted.named_id not in possible:
            raise BadInput("Choose one of the people proposed.", field="named_id")
    step = FairPathStep(
        id=act.randomness.new_id(),
        path_id=path_id,
        step=wanted.step.value,
        done_on=wanted.done_on,
        words=_words(wanted.words, "words"),
        named_id=wanted.named_id if rule.names is not Named.NOBODY else None,
        recorded_by=act.actor.person_id,
        recorded_at=act.now,
    )
    act.session.add(step)
    record(act, AuditEvent.PATH_STEP_RECORDED, "fair_path_step", step.id, person_id=row.person_id,
           thing=wanted.step.value, after={"path": path_id, "named": step.named_id or ""})  # fmt: skip
    return step.id


def _check_other_educator(act: Act, path_id: str) -> None:
    named = [step for step in steps_done(act, path_id) if step.step == StepName.OTHER_EDUCATOR]
    if not named:
        raise Conflict("Name the other educator first. Nothing was recorded.")
    if named[-1].named_id != act.actor.person_id:
        raise NotAllowed("The other educator records this step, not the one before. Nothing was recorded.")


def close_path(act: Act, *, path_id: str, outcome: PathOutcome, words: str) -> str:
    """Close a path and return its id; complete, the restriction it brought ends, or the return from leave is complete.

    Raises BadInput where steps are missing for "complete", and where words are missing.
    """
    row = open_row(act, path_id)
    kind = PathKind(row.kind)
    missing = open_steps(kind, {StepName(step.step) for step in steps_done(act, path_id)})
    if outcome is PathOutcome.COMPLETE and missing:
        raise BadInput(f"Not recorded yet: {missing[0].words}.", field="outcome")
    row.outcome_words = _words(words, "words")
    row.closed_by, row.closed_at, row.outcome = act.actor.person_id, act.now, outcome.value
    record(act, AuditEvent.PATH_CLOSED, "fair_path", row.id, person_id=row.person_id, thing=f"{kind.value} {outcome}")
    if outcome is PathOutcome.COMPLETE:
        _end_what_it_brought(act, row, kind)
    return row.id


def _end_what_it_brought(act: Act, row: FairPath, kind: PathKind) -> None:
    if kind is PathKind.LONG_LEAVE:
        _complete_returns(act, row)
    elif row.restriction_id is not None and _still_holds(act, row.restriction_id):
        end_standing_change(act, row.restriction_id, reason="the path it belongs to is complete")


def _still_holds(act: Act, event_id: str) -> bool:
    event = act.session.get_one(StandingEvent, event_id)
    ended = act.session.scalar(select(StandingEnd.id).where(StandingEnd.event_id == event_id))
    return ended is None and (event.until_day is None or event.until_day >= act.today)


def _complete_returns(act: Act, row: FairPath) -> None:
    """Record the return as complete for every leave that is over and was not completed before."""
    leaves = act.session.execute(
        select(StandingEvent, StandingEnd.recorded_at)
        .outerjoin(StandingEnd, StandingEnd.event_id == StandingEvent.id)
        .outerjoin(LeaveReturn, LeaveReturn.event_id == StandingEvent.id)
        .where(StandingEvent.person_id == row.person_id, StandingEvent.kind == StandingEventKind.PAUSED.value)
        .where(LeaveReturn.id.is_(None))
    ).all()
    for event, ended_at in leaves:
        last_day = event.until_day
        if ended_at is not None:
            last_day = ended_at.astimezone(act.zone).date() - timedelta(days=1)
        if last_day is None or last_day >= act.today:
            continue
        done = LeaveReturn(
            id=act.randomness.new_id(),
            event_id=event.id,
            person_id=row.person_id,
            recorded_by=act.actor.person_id,
            recorded_at=act.now,
        )
        act.session.add(done)
        record(act, AuditEvent.RETURN_COMPLETED, "leave_return", done.id, person_id=row.person_id)
