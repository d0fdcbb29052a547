"""Whom a step of a path may name: another educator, an assessor who has not seen it fail, a current colleague."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import or_, select

from quizapp.assessment.fair_paths import Named
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off_record import EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import Outcome, PersonStanding, StandingReport
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.person_standing import standings
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.fair_paths import FairPath
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant

AWAY = {PersonStanding.WITHDRAWN, PersonStanding.SUSPENDED, PersonStanding.PAUSED}


@dataclass(frozen=True, kw_only=True)
class Proposed:
    """One person who may be named."""

    person_id: str
    name: str


def named_for(act: Act, library: Library, path: FairPath, who: Named) -> tuple[Proposed, ...]:
    """Return who may be named on a path, by name; never the person on it. Constant number of statements."""
    if who is Named.NOBODY:
        return ()
    role = {
        Named.OTHER_EDUCATOR: Role.EDUCATOR,
        Named.UNBIASED_ASSESSOR: Role.ASSESSOR,
        Named.COLLEAGUE: Role.CLINICIAN,
    }[who]
    people = [person for person in _holding(act, role, path.base_id) if person.id != path.person_id]
    if who is Named.OTHER_EDUCATOR:
        left_out = _who_decided_against(act, path.person_id)
        fitting = [person for person in people if person.id not in left_out]
    else:
        reports = {key: one.report for key, one in standings(act, library, people).items()}
        left_out = _who_saw_it_fail(act, path.person_id) if who is Named.UNBIASED_ASSESSOR else frozenset()
        fitting = [one for one in people if one.id not in left_out and _is_current(reports[one.id])]
    return tuple(Proposed(person_id=person.id, name=person.name) for person in fitting)


def _is_current(report: StandingReport) -> bool:
    return report.standing.is_in_date and report.standing not in AWAY and not report.conditions


def _holding(act: Act, role: Role, base_id: str) -> list[Person]:
    wanted = (
        select(Person)
        .join(RoleGrant, RoleGrant.person_id == Person.id)
        .where(RoleGrant.role == role.value, RoleGrant.ended_at.is_(None), Person.left_on.is_(None))
        .where(or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today), RoleGrant.from_day <= act.today)
        .where(or_(RoleGrant.base_id.is_(None), RoleGrant.base_id == base_id))
        .distinct()
        .order_by(Person.name, Person.id)
    )
    return list(act.session.scalars(wanted))


def _who_decided_against(act: Act, person_id: str) -> frozenset[str]:
    """Return who decided "not yet" on the person, alone or as the second; a void decision was taken all the same."""
    rows = act.session.execute(
        select(Decision.decided_by, Decision.second_by).where(
            Decision.person_id == person_id, Decision.outcome == Outcome.NOT_YET.value
        )
    )
    return frozenset(one for pair in rows for one in pair if one is not None)


def _who_saw_it_fail(act: Act, person_id: str) -> frozenset[str]:
    """Return who signed that something was not shown, who marked such a sheet, and who declared a connection."""
    signed = act.session.scalars(
        select(Evidence.assessor_id).where(
            Evidence.person_id == person_id,
            Evidence.outcome == EvidenceOutcome.NOT_SHOWN.value,
            Evidence.kind.in_([EvidenceKind.OBSERVATION.value, EvidenceKind.DISCUSSION.value]),
        )
    )
    watched = act.session.scalars(
        select(Observation.assessor_id)
        .outerjoin(Evidence, Evidence.source_id == Observation.id)
        .where(Observation.person_id == person_id)
        .where(or_(Observation.connection.is_not(None), Evidence.outcome == EvidenceOutcome.NOT_SHOWN.value))
    )
    return frozenset(one for one in (*signed, *watched) if one is not None) | _who_decided_against(act, person_id)
