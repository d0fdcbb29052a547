"""Works out how people stand and will stand, from the records, and keeps it until a record behind it changes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sqlalchemy import insert, select, text
from sqlalchemy.orm import Session

from quizapp.assessment.kept_standings import Steps, steps_of
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.clinicians import clinicians
from quizapp.services.standings_ahead import standings_ahead
from quizapp.store.kept_standings import KeptStanding
from quizapp.store.people import Person

AT_ONCE = 500
"""People worked out together, so that a service of any size needs little memory."""


def keep_standings(act: Act, library: Library, people: Sequence[Person]) -> int:
    """Work out and keep the standings of people of whom nothing is kept; return how many were kept.

    Call it in a writing unit of its own. On PostgreSQL it waits for changes under way and holds new ones up until the
    unit ends, so that nothing is kept which a change at the same time has outdated.
    """
    _wait_for_changes(act.session)
    ids = [one.id for one in people]
    known = set(act.session.scalars(select(KeptStanding.person_id).where(KeptStanding.person_id.in_(ids))))
    missing = [one for one in people if one.id not in known]
    if missing:
        rows = [
            {"person_id": one.id, "base_id": one.base_id, "steps": steps, "kept_at": act.now}
            for one, steps in worked_out_steps(act, library, missing)
        ]
        act.session.execute(insert(KeptStanding), rows)
    return len(missing)


def _wait_for_changes(session: Session) -> None:
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("LOCK TABLE kept_standing IN EXCLUSIVE MODE"))


def worked_out_steps(act: Act, library: Library, people: Sequence[Person]) -> Iterator[tuple[Person, Steps]]:
    """Give the steps of people worked out from the records, some at a time."""
    for start in range(0, len(people), AT_ONCE):
        some = people[start : start + AT_ONCE]
        ahead = standings_ahead(act, library, some, {one.base_id for one in some})
        for one in some:
            yield one, steps_of(ahead.record_at(one.id, one.base_id), ahead.required, act.now, act.zone)


def clinicians_not_kept(act: Act) -> list[Person]:
    """Return the clinicians of today of whom nothing is kept."""
    known = set(act.session.scalars(select(KeptStanding.person_id)))
    return [one for one in clinicians(act) if one.id not in known]
