"""What must hold at every minute of anybody's life here, worked out from the stored rows and not by the rules."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, TypeAlias
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.standing import StandingReport
from quizapp.services.signing import faults_of_signature
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision, DecisionVoid, StandingEnd, StandingEvent
from quizapp.store.evidence import Evidence
from quizapp.store.model import Record
from quizapp.store.standards import StandardRequirement

ZONE = ZoneInfo("Europe/London")
Row: TypeAlias = dict[str, Any]
Ends: TypeAlias = dict[tuple[str, str, str], date]
FROZEN: tuple[tuple[type[Record], frozenset[str]], ...] = (
    (Decision, frozenset({"voided_at"})),
    (Signature, frozenset()),
    (StandingEvent, frozenset()),
    (StandingEnd, frozenset()),
    (StandardRequirement, frozenset()),
)


def fields(row: Record) -> Row:
    return {column.name: getattr(row, column.name) for column in row.__table__.columns}


def frozen_rows(session: Session) -> dict[tuple[str, str], Row]:
    """Every row that may never change, without what may be added to it once."""
    found = {}
    for model, may_be_added in FROZEN:
        for row in session.scalars(select(model)):
            kept = {name: value for name, value in fields(row).items() if name not in may_be_added}
            found[model.__tablename__, str(kept["id"])] = kept
    return found


def assert_still_as_signed(before: dict[tuple[str, str], Row], after: dict[tuple[str, str], Row]) -> None:
    """Signed means frozen: nothing that stood is gone or different."""
    for place, row in before.items():
        assert after.get(place) == row, f"{place} was changed"


def assert_signatures_fit(session: Session) -> None:
    for signature in session.scalars(select(Signature)):
        assert faults_of_signature(signature) == []


def assert_nobody_signs_for_themselves(session: Session) -> None:
    """Neither first nor second person, nor the only pair of eyes that carried a sign-off given here."""
    for row in session.scalars(select(Decision)):
        names = [name for name in (row.decided_by, row.second_by) if name]
        assert row.person_id not in names
        assert len(set(names)) == len(names)
        watched = set(session.scalars(select(Evidence.assessor_id).where(
            Evidence.id.in_(row.evidence_ids), Evidence.kind == "observation")))  # fmt: skip
        if row.outcome == "competent" and row.origin == "decided_here" and len(watched) == 1:
            assert not watched & set(names)
    for void in session.scalars(select(DecisionVoid).where(DecisionVoid.is_confirmed.is_(True))):
        assert len({void.person_id, void.proposed_by, void.settled_by}) == 3


def assert_carried_in_full(session: Session, row: Decision, *, today: date) -> None:
    """Critical is never compensated: each part asked for has its own evidence, shown last, on this device, in time."""
    of_row = (StandardRequirement.standard_id == row.standard_id, StandardRequirement.competency == row.competency)
    asked = session.scalars(select(StandardRequirement).where(*of_row)).one()
    wanted = [("sitting", None)] if asked.needs_knowledge else []
    wanted += [("observation", procedure) for procedure in asked.procedures]
    assert wanted
    for kind, procedure in wanted:
        of_kind = session.scalars(select(Evidence).where(
            Evidence.person_id == row.person_id, Evidence.competency == row.competency, Evidence.kind == kind,
            Evidence.procedure == procedure if procedure else Evidence.procedure.is_(None),
            Evidence.profile_code == row.profile_code, Evidence.profile_revision == row.profile_revision,
        )).all()  # fmt: skip
        assert of_kind, f"{row.competency} was signed off without {procedure or kind}"
        last = max(of_kind, key=lambda one: (one.happened_at, one.outcome != "shown"))
        assert (last.outcome, last.id in row.evidence_ids) == ("shown", True)
        assert months_between(last.happened_at.astimezone(ZONE).date(), today) <= asked.evidence_months


def months_between(day: date, later: date) -> float:
    """Whole months, and a fraction once the day of the month is passed; a month's end counts as its 31st."""
    months = (later.year - day.year) * 12 + later.month - day.month
    return months + (0.5 if later.day > day.day else 0)


def assert_nothing_current_past_its_date(
    session: Session, person_id: str, report: StandingReport, minute: datetime
) -> None:
    """Every row in date rests on an unvoided decision that said at least that day, and none later says otherwise."""
    today = minute.astimezone(ZONE).date()
    decisions = session.scalars(select(Decision).where(Decision.person_id == person_id)).all()
    for row in report.rows:
        of_row = [one for one in decisions if one.competency == row.competency and one.decided_at <= minute
                  and (one.profile_code, one.profile_revision) == (row.profile.code, row.profile.revision)
                  and (one.voided_at is None or one.voided_at > minute)]  # fmt: skip
        newest = max(of_row, key=lambda one: one.decided_at, default=None)
        if row.standing.is_in_date:
            assert newest is not None
            assert newest.outcome in {"competent", "restricted"}
            assert row.last_valid_day is not None
            assert newest.last_valid_day is not None
            assert today <= row.last_valid_day <= newest.last_valid_day
    if report.standing.is_in_date:
        assert report.rows
        assert all(row.standing.is_in_date and not row.conditions for row in report.rows)


def ends_of(reports: Iterable[tuple[str, StandingReport]]) -> Ends:
    """The last valid day by person, competency and device revision."""
    return {
        (person, row.competency, str(row.profile)): row.last_valid_day
        for person, report in reports
        for row in report.rows
        if row.last_valid_day is not None
    }


def assert_no_time_was_added(before: Ends, after: Ends, *, decided_on: set[tuple[str, str]]) -> None:
    """Remaining time never grows by itself: only where that person was decided on in that competency."""
    for place, day in after.items():
        if place in before and place[:2] not in decided_on:
            assert day <= before[place], f"{place} grew from {before[place]} to {day}"
