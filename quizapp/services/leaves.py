"""Leave as those who plan see it: who is away until when, whether the clock stands still, and who is back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select

from quizapp.assessment.leave import awaits_return, is_long
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.end_standing_change import end_standing_change
from quizapp.services.person_standing import standings
from quizapp.services.require_right import require_right
from quizapp.store.decisions import StandingEnd, StandingEvent
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class LeaveLine:
    """One leave that is not over: whose, from when to when (None: open), and whether it stops the clock."""

    event_id: str
    person_name: str
    from_day: date
    until_day: date | None
    has_begun: bool
    stops_clock: bool


@dataclass(frozen=True, kw_only=True)
class BackLine:
    """Somebody who is back from long leave and whose return is not complete; `back_on` is the first day back."""

    person_name: str
    back_on: date


def people_i_plan_for(act: Act) -> list[Person]:
    """Return the people at the bases for which the actor records leave, without the actor, by name."""
    require_right(act, Right.PAUSE_PERSON)
    rows = act.session.scalars(select(Person).where(Person.left_on.is_(None)).order_by(Person.name, Person.id))
    return [
        person
        for person in rows
        if person.id != act.actor.person_id and has_right(act.actor, Right.PAUSE_PERSON, act.today, person.base_id)
    ]


def leaves_not_over(act: Act) -> tuple[LeaveLine, ...]:
    """Return the leaves that hold or are still to come at the actor's bases, what begins first first."""
    names = {person.id: person.name for person in people_i_plan_for(act)}
    rows = act.session.scalars(
        select(StandingEvent)
        .outerjoin(StandingEnd, StandingEnd.event_id == StandingEvent.id)
        .where(StandingEvent.kind == StandingEventKind.PAUSED.value, StandingEnd.id.is_(None))
        .where(StandingEvent.person_id.in_(names))
        .where((StandingEvent.until_day.is_(None)) | (StandingEvent.until_day >= act.today))
        .order_by(StandingEvent.from_day, StandingEvent.id)
    )
    return tuple(
        LeaveLine(
            event_id=row.id,
            person_name=names[row.person_id],
            from_day=row.from_day,
            until_day=row.until_day,
            has_begun=row.from_day <= act.today,
            stops_clock=is_long(row.from_day, row.until_day),
        )
        for row in rows
    )


def back_from_long_leave(act: Act, library: Library) -> tuple[BackLine, ...]:
    """Return who is back and works with a current colleague until an educator closes the return."""
    people = people_i_plan_for(act)
    found = standings(act, library, people)
    lines = []
    for person in people:
        back_on = awaits_return(found[person.id].record.pauses, act.today)
        if back_on is not None:
            lines.append(BackLine(person_name=person.name, back_on=back_on))
    return tuple(lines)


def begin_leave(act: Act, *, person_id: str, from_day: date, until_day: date | None, reason: str) -> str:
    """Record leave from today or a later day on and return its id; raises as `change_standing` does."""
    change = StandingChange(kind=StandingEventKind.PAUSED, from_day=from_day, until_day=until_day, reason=reason)
    return change_standing(act, person_id, change)


def end_leave(act: Act, *, event_id: str) -> str:
    """Record that somebody is back today, or that leave still to come is called off; return the id of the end."""
    return end_standing_change(act, event_id, reason="back, or the leave was called off")


def clock_words(line: LeaveLine, today: date) -> str:
    """Say in a few words what the leave does to the last valid days."""
    if not line.stops_clock:
        return "up to three months: every date stays"
    if line.until_day is None:
        return "stops the clock if it grows longer than three months"
    days = (line.until_day - line.from_day) // timedelta(days=1) + 1
    return f"stops the clock: dates move by {days} days" if line.until_day >= today else ""
