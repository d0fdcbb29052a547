"""The standard for the year: recorded as a new version with a start, and read as it stood at any minute."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.standard import Requirement, Shortening, Terms, faults_of
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.standards import Standard, StandardRequirement

__all__ = [
    "Requirement",
    "StandardInForce",
    "Terms",
    "earliest_start",
    "newest_standard",
    "record_standard",
    "refuse_faults",
    "shortenings_known",
    "standard_on",
    "standards_recorded",
]


@dataclass(frozen=True, kw_only=True)
class StandardInForce(Terms):
    """One recorded version with all it requires, who recorded it when, and the signature it was put in force with."""

    id: str
    version: int
    recorded_by: str
    recorded_at: datetime
    signature_id: str | None

    @property
    def label(self) -> str:
        """Name and version, as they stand in a title block."""
        return f"{self.name}, version {self.version}"


def record_standard(
    act: Act, library: Library, wanted: Terms, *, standard_id: str = "", signature_id: str | None = None
) -> str:
    """Record a new version of the standard and return its id.

    It starts on the start day of the version before or later, and except for the first one not in the past, so that
    nobody's standing of a day gone by changes. Raises BadInput naming the field.
    """
    require_right(act, Right.SET_STANDARD)
    newest = _newest(act.session)
    refuse_faults(act, library, wanted)
    row = Standard(
        id=standard_id or act.randomness.new_id(),
        version=newest.version + 1 if newest else 1,
        name=" ".join(wanted.name.split()),
        starts_on=wanted.starts_on,
        reason=wanted.reason.strip(),
        agreed_by=wanted.agreed_by.strip(),
        form_questions=wanted.form_questions,
        form_cut=wanted.form_cut,
        recorded_by=act.actor.person_id,
        recorded_at=act.now,
        signature_id=signature_id,
    )
    act.session.add(row)
    act.session.flush()
    act.session.add_all(_requirement_row(act, row.id, one) for one in wanted.requirements)
    record(act, AuditEvent.STANDARD_SET, "standard", row.id, thing=f"version {row.version}",
           after={"starts_on": row.starts_on.isoformat(), "signature": signature_id or "",
                  "competencies": sorted(one.competency for one in wanted.requirements)})  # fmt: skip
    return row.id


def _newest(session: Session) -> Standard | None:
    return session.scalar(select(Standard).order_by(Standard.version.desc()).limit(1))


def earliest_start(act: Act) -> date | None:
    """Return the first day on which a new version may begin, None for the very first version."""
    newest = _newest(act.session)
    return None if newest is None else max(newest.starts_on, act.today)


def refuse_faults(act: Act, library: Library, wanted: Terms) -> None:
    """Raise BadInput for the first thing that keeps a version from being put in force."""
    faults = faults_of(
        wanted, competencies=library.competencies, procedures=library.procedures, earliest=earliest_start(act)
    )
    for fault in faults:
        raise BadInput(fault.message, field="requirements" if fault.competency else fault.field)


def _requirement_row(act: Act, standard_id: str, one: Requirement) -> StandardRequirement:
    return StandardRequirement(
        id=act.randomness.new_id(),
        standard_id=standard_id,
        competency=one.competency,
        is_critical=one.is_critical,
        validity_months=one.validity_months,
        practice_months=one.practice_months,
        evidence_months=one.evidence_holds_months,
        needs_knowledge=one.needs_knowledge,
        minimum_questions=one.minimum_questions,
        procedures=list(one.procedures),
        observed_here=list(one.observed_here),
        needs_discussion=one.needs_discussion,
        minimum_assessors=one.minimum_assessors,
        renew_by=one.renew_by,
    )


def standard_on(session: Session, day: date, *, known_at: datetime | None = None) -> StandardInForce | None:
    """Return the version in force on a civil day, with two statements; None before the first one started.

    known_at: only what was recorded by that minute counts (aware UTC; default: everything).
    """
    wanted = select(Standard).where(Standard.starts_on <= day)
    if known_at is not None:
        wanted = wanted.where(Standard.recorded_at <= known_at)
    row = session.scalar(wanted.order_by(Standard.starts_on.desc(), Standard.version.desc()).limit(1))
    return None if row is None else _read(session, [row])[0]


def newest_standard(session: Session) -> StandardInForce | None:
    """Return the version recorded last, whether it started or not; None before the first one."""
    row = _newest(session)
    return None if row is None else _read(session, [row])[0]


def standards_recorded(session: Session) -> list[StandardInForce]:
    """Return every version with all it requires, the newest first, with two statements."""
    return _read(session, list(session.scalars(select(Standard).order_by(Standard.version.desc()))))


def shortenings_known(session: Session, minute_utc: datetime) -> tuple[Shortening, ...]:
    """Return what all versions recorded by a minute say about sign-offs given before them; none is ever taken back."""
    rows = session.execute(
        select(StandardRequirement.competency, Standard.starts_on, StandardRequirement.renew_by)
        .join(Standard, Standard.id == StandardRequirement.standard_id)
        .where(StandardRequirement.renew_by.is_not(None), Standard.recorded_at <= minute_utc)
    )
    return tuple(
        Shortening(competency=competency, given_before=starts_on, renew_by=renew_by)
        for competency, starts_on, renew_by in rows
        if renew_by is not None
    )


def _read(session: Session, rows: Sequence[Standard]) -> list[StandardInForce]:
    requirements = _requirements(session, [row.id for row in rows])
    return [
        StandardInForce(
            id=row.id,
            version=row.version,
            name=row.name,
            starts_on=row.starts_on,
            reason=row.reason,
            agreed_by=row.agreed_by,
            form_questions=row.form_questions,
            form_cut=row.form_cut,
            recorded_by=row.recorded_by,
            recorded_at=row.recorded_at,
            signature_id=row.signature_id,
            requirements=tuple(requirements[row.id]),
        )
        for row in rows
    ]


def _requirements(session: Session, standard_ids: Collection[str]) -> dict[str, list[Requirement]]:
    found: dict[str, list[Requirement]] = defaultdict(list)
    asked = session.scalars(select(StandardRequirement).where(StandardRequirement.standard_id.in_(standard_ids)))
    for one in sorted(asked, key=lambda row: (len(row.competency), row.competency)):
        requirement = Requirement(
            competency=one.competency,
            is_critical=one.is_critical,
            validity_months=one.validity_months,
            practice_months=one.practice_months,
            evidence_months=None if one.evidence_months == one.validity_months else one.evidence_months,
            needs_knowledge=one.needs_knowledge,
            minimum_questions=one.minimum_questions,
            procedures=tuple(one.procedures),
            observed_here=tuple(one.observed_here),
            needs_discussion=one.needs_discussion,
            minimum_assessors=one.minimum_assessors,
            renew_by=one.renew_by,
        )
        found[one.standard_id].append(requirement)
    return found
