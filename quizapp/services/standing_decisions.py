"""The decisions that standings rest on, with one statement; those that can say nothing any more may stay behind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from sqlalchemy import Date, Select, bindparam, case, func, or_, select

from quizapp.assessment.standard import Shortening, last_day_under
from quizapp.assessment.standing_record import Decision, Outcome, ProfileRevision
from quizapp.services.act import Act
from quizapp.store import decisions as stored
from quizapp.store.columns import UtcDateTime

# Plain columns: what is read here are values, never objects that the session watches.
TABLE = stored.Decision.__table__.c
COLUMNS = (
    TABLE.id, TABLE.person_id, TABLE.competency, TABLE.profile_code, TABLE.profile_revision, TABLE.outcome,
    TABLE.decided_at, TABLE.valid_from, TABLE.last_valid_day, TABLE.conditions, TABLE.voided_at,
)  # fmt: skip
PEOPLE = TABLE.person_id.in_(bindparam("people", expanding=True))
EVERY = select(*COLUMNS).where(PEOPLE)


def _from_then_on() -> Select[*tuple[object, ...]]:
    """Leave a decision out when a later one on the same competency and revision has begun by then and is not void."""
    table = TABLE
    has_begun = (
        table.voided_at.is_(None)
        & (table.decided_at <= bindparam("since", type_=UtcDateTime))
        & (table.valid_from <= bindparam("day", type_=Date))
        & (table.outcome != Outcome.NOT_YET.value)
    )
    same = (table.person_id, table.competency, table.profile_code, table.profile_revision)
    newest = func.max(case((has_begun, table.decided_at))).over(partition_by=same)
    ranked = select(*COLUMNS, newest.label("newest")).where(PEOPLE).subquery()
    columns = [ranked.c[column.key] for column in COLUMNS]
    return select(*columns).where(or_(ranked.c.newest.is_(None), ranked.c.decided_at >= ranked.c.newest))


FROM_THEN_ON = _from_then_on()


def decisions_of(
    act: Act, person_ids: Collection[str], shortenings: tuple[Shortening, ...], *, since: datetime | None = None
) -> dict[str, list[Decision]]:
    """Return the decisions on people, with last valid days as standards shortened them.

    since: only what can say something at some moment from then on (aware UTC); the same rule as `from_then_on`.
    """
    bound: dict[str, object] = {"people": list(person_ids)}
    if since is not None:
        bound |= {"since": since, "day": since.astimezone(act.zone).date()}
    profiles: dict[tuple[str, int], ProfileRevision] = {}
    found: dict[str, list[Decision]] = defaultdict(list)
    for row in act.session.execute(EVERY if since is None else FROM_THEN_ON, bound):
        reference, person_id, competency, code, revision, outcome, decided_at, valid_from, last_day, terms, void = row
        profile = profiles.setdefault((code, revision), ProfileRevision(code=code, revision=revision))
        if last_day is not None and shortenings:
            last_day = last_day_under(competency, valid_from, last_day, shortenings)
        found[person_id].append(
            Decision(
                reference=reference,
                competency=competency,
                profile=profile,
                outcome=Outcome(outcome),
                decided_at=decided_at,
                valid_from=valid_from,
                last_valid_day=last_day,
                conditions=terms or "",
                voided_at=void,
            )
        )
    return found
