"""Adjustments of a person's sittings, kept apart from results: the person and the educators of the base know of them.

No reason is stored anywhere. A team lead has no way to them, and the time limits of procedures are never touched.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.sitting_time import Adjustment, ExtraTime, time_for
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.fair_paths import SittingAdjustment
from quizapp.store.people import Person

LONGEST_WORDS = 300


@dataclass(frozen=True, kw_only=True)
class AdjustmentWanted:
    """What an educator sets. `room` says what else is arranged, without any reason: a quiet room, larger print."""

    extra_time: ExtraTime | None
    room: str
    from_day: date
    until_day: date | None


@dataclass(frozen=True, kw_only=True)
class AdjustmentLine:
    """One adjustment as the person and the educator read it."""

    id: str
    extra_time: ExtraTime | None
    room: str
    from_day: date
    until_day: date | None
    set_by: str
    holds: bool

    @property
    def words(self) -> str:
        """The extra time as people say it."""
        if self.extra_time is None:
            return "no time limit"
        return f"{int(self.extra_time)} % more time" if self.extra_time else "the time as it is"


def adjusted_person(act: Act, person_id: str) -> Person:
    """Return a person whose sittings the actor may adjust: of the educator's bases, never oneself."""
    require_right(act, Right.ADJUST_SITTING)
    if person_id == act.actor.person_id:
        raise NotAllowed("Nobody sets an adjustment for themselves. Nothing was changed. Ask another educator.")
    person = act.session.get(Person, person_id)
    known = person is not None and has_right(act.actor, Right.ADJUST_SITTING, act.today, person.base_id)
    if person is None or not known:
        raise NotFound("There is nobody here whose sittings you adjust.")
    return person


def set_adjustment(act: Act, *, person_id: str, wanted: AdjustmentWanted) -> str:
    """Set an adjustment for sittings that begin from its first day on; return its id.

    A sitting already begun keeps its time. Raises NotFound, NotAllowed, BadInput naming the field.
    """
    person = adjusted_person(act, person_id)
    room = " ".join(wanted.room.split())
    if wanted.extra_time is ExtraTime.NONE and not room:
        raise BadInput("Choose more time, or say what else is arranged.", field="extra_time")
    if len(room) > LONGEST_WORDS or not room.isprintable():
        raise BadInput(f"Write at most {LONGEST_WORDS} characters that can be printed.", field="room")
    if wanted.from_day < act.today:
        raise BadInput("It begins today or later.", field="from_day")
    if wanted.until_day is not None and wanted.until_day < wanted.from_day:
        raise BadInput("The last day lies before the first.", field="until_day")
    row = SittingAdjustment(
        id=act.randomness.new_id(),
        person_id=person.id,
        extra_time_percent=None if wanted.extra_time is None else int(wanted.extra_time),
        room=room,
        from_day=wanted.from_day,
        until_day=wanted.until_day,
        set_by=act.actor.person_id,
        set_at=act.now,
        ended_at=None,
        ended_by=None,
    )
    act.session.add(row)
    # The audit row names nobody: whoever reads the trail shall not learn whose sittings are adjusted.
    record(act, AuditEvent.SITTING_ADJUSTED, "sitting_adjustment", row.id)
    return row.id


def end_adjustment(act: Act, *, adjustment_id: str) -> str:
    """End an adjustment now and return the person's id; raises NotFound, Conflict when it ended already."""
    row = act.session.get(SittingAdjustment, adjustment_id, with_for_update=True)
    if row is None:
        raise NotFound("There is no such adjustment.")
    adjusted_person(act, row.person_id)
    if row.ended_at is not None:
        raise Conflict("This adjustment ended already. Nothing was changed.")
    row.ended_at, row.ended_by = act.now, act.actor.person_id
    record(act, AuditEvent.ADJUSTMENT_ENDED, "sitting_adjustment", row.id)
    return row.person_id


def adjustments_of(act: Act, person_id: str) -> tuple[AdjustmentLine, ...]:
    """Return a person's adjustments that did not end, for the person and for an educator of the base."""
    if person_id != act.actor.person_id:
        adjusted_person(act, person_id)
    rows = act.session.execute(
        select(SittingAdjustment, Person.name)
        .join(Person, Person.id == SittingAdjustment.set_by)
        .where(SittingAdjustment.person_id == person_id, SittingAdjustment.ended_at.is_(None))
        .order_by(SittingAdjustment.from_day, SittingAdjustment.id)
    )
    lines = []
    for row, name in rows:
        extra = None if row.extra_time_percent is None else ExtraTime(row.extra_time_percent)
        lines.append(
            AdjustmentLine(
                id=row.id,
                extra_time=extra,
                room=row.room,
                from_day=row.from_day,
                until_day=row.until_day,
                set_by=name,
                holds=Adjustment(extra_time=extra, from_day=row.from_day, until_day=row.until_day).holds_on(act.today),
            )
        )
    return tuple(line for line in lines if line.until_day is None or line.until_day >= act.today)


def sitting_time(act: Act, allowance_min: int | None) -> timedelta | None:
    """Return how long the actor's sitting that begins now may take, adjusted for the actor; None: no limit."""
    if allowance_min is None:
        return None
    rows = act.session.scalars(
        select(SittingAdjustment).where(
            SittingAdjustment.person_id == act.actor.person_id, SittingAdjustment.ended_at.is_(None)
        )
    )
    adjustments = [
        Adjustment(
            extra_time=None if row.extra_time_percent is None else ExtraTime(row.extra_time_percent),
            from_day=row.from_day,
            until_day=row.until_day,
        )
        for row in rows
    ]
    return time_for(allowance_min, adjustments, act.today)
