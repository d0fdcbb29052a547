"""The next shifts of the person signed in, with what was done about one that has nobody current; no names of others."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.shift_covers import ShiftSeen, shifts_seen
from quizapp.store.shifts import CrewShift, ShiftMember

AHEAD = timedelta(days=14)


def my_shifts(act: Act, library: Library) -> list[ShiftSeen]:
    """Return the actor's own shifts that are not over and start within 14 days, in order of time."""
    rows = act.session.scalars(
        select(CrewShift)
        .join(ShiftMember, ShiftMember.shift_id == CrewShift.id)
        .where(ShiftMember.person_id == act.actor.person_id, CrewShift.removed_at.is_(None))
        .where(CrewShift.ends_at > act.now, CrewShift.starts_at < act.now + AHEAD)
        .order_by(CrewShift.starts_at, CrewShift.id)
    )
    found = list(rows)
    return shifts_seen(act, library, found) if found else []
