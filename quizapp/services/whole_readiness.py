"""The readiness of every base at once, counted from what is kept; who is not kept is worked out from the records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import or_, select

from quizapp.assessment.kept_standings import BaseCount, Steps, count_bases
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.base_readiness import bases_seen
from quizapp.services.keep_standings import worked_out_steps
from quizapp.store.kept_standings import KeptStanding
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant

MOST_WORKED_OUT = 1000
"""People worked out for one page at most; a larger service is kept by the daily command."""


@dataclass(frozen=True, kw_only=True)
class WholeReadiness:
    """Every base the actor sees with its counts, by name; `missing` are those worked out now and not kept yet.

    `left_out`: people who are in no count, because too many are not kept yet.
    """

    bases: tuple[tuple[RescueBase, BaseCount], ...]
    missing: tuple[str, ...]
    left_out: int


def whole_readiness(act: Act, library: Library) -> WholeReadiness:
    """Count every base the actor sees; two statements when everybody is kept."""
    bases = bases_seen(act)
    rows = kept_steps(act, [base.id for base in bases])
    missing = [person_id for person_id, _, steps in rows if steps is None]
    worked_out = missing[:MOST_WORKED_OUT]
    kept: list[tuple[str, Steps]] = [(base_id, steps) for _, base_id, steps in rows if steps is not None]
    if worked_out:
        people = list(act.session.scalars(select(Person).where(Person.id.in_(worked_out))))
        kept += [(one.base_id, steps) for one, steps in worked_out_steps(act, library, people)]
    counts = count_bases(kept, act.now, act.today)
    return WholeReadiness(
        bases=tuple((base, counts.get(base.id, BaseCount())) for base in bases),
        missing=tuple(worked_out),
        left_out=len(missing) - len(worked_out),
    )


def kept_steps(act: Act, base_ids: Sequence[str]) -> list[tuple[str, str, Steps | None]]:
    """Return (person, base, steps or None) of the clinicians of today at some bases, with one statement."""
    is_clinician = (
        select(RoleGrant.person_id)
        .where(RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_at.is_(None), RoleGrant.from_day <= act.today)
        .where(or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today))
    )
    rows = act.session.execute(
        select(Person.id, Person.base_id, KeptStanding.steps)
        .outerjoin(KeptStanding, KeptStanding.person_id == Person.id)
        .where(Person.left_on.is_(None), Person.base_id.in_(base_ids), Person.id.in_(is_clinician))
    )
    return [(person_id, base_id, steps) for person_id, base_id, steps in rows]
