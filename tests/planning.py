"""What tests of places share: session days, people who need a place by some day, and who holds which one."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from sqlalchemy import select

from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.services.place_plans import plan_shown, propose_plan, publish_plan
from quizapp.services.session_days import SessionDayWanted, open_session_day
from quizapp.store.decisions import Decision
from quizapp.store.places import Place
from tests.deciding import with_standard
from tests.small_service import SmallService


def wanted_day(small: SmallService, in_days: int, **changes: object) -> SessionDayWanted:
    usual = SessionDayWanted(
        base_id=small.base_id, held_on=small.now.date() + timedelta(days=in_days), starts_at="09:00", ends_at="13:00",
        about="P06 watched", capacity=2, takes_bookings=True,
        assessor_ids=(small.person_id("tor"), small.person_id("una")),
        reach_ids=(small.base_id,),
    )  # fmt: skip
    return replace(usual, **changes)  # type: ignore[arg-type]


def day_opened(small: SmallService, in_days: int, by: str = "leif", **changes: object) -> str:
    with small.acting(by) as act:
        return open_session_day(act, wanted_day(small, in_days, **changes))


def signed_off(small: SmallService, who: str, days_left: int) -> None:
    """Sign-offs of both competencies straight in the store, ending in so many days."""
    with small.database.writing() as session:
        for competency in ("C5", "C8"):
            session.add(
                Decision(
                    id=small.randomness.new_id(), person_id=small.person_id(who), base_id=small.base_id,
                    competency=competency, outcome=Outcome.COMPETENT.value, origin=DecisionOrigin.RECOGNISED.value,
                    reason="as given before", conditions=None, valid_from=small.now.date() - timedelta(days=300),
                    last_valid_day=small.now.date() + timedelta(days=days_left), profile_code="TV-A",
                    profile_revision=1, standard_id=None, evidence_ids=[], decided_by=small.person_id("ines"),
                    second_by=None, decided_at=small.now - timedelta(days=1),
                )
            )  # fmt: skip


def people_due(small: SmallService, library: Library, **days_left: int) -> SmallService:
    """A standard in force and the named people signed off for so many days more; Tor and Una for long."""
    with_standard(small, library)
    for who, left in {"tor": 300, "una": 300, **days_left}.items():
        signed_off(small, who, left)
    return small


def planned(small: SmallService, library: Library, by: str = "leif") -> str:
    with small.acting(by) as act:
        return propose_plan(act, library)


def published(small: SmallService, library: Library, plan_id: str, by: str = "leif") -> int:
    with small.acting(by) as act:
        digest = plan_shown(act, library, plan_id).digest
    with small.acting(by) as act:
        return publish_plan(act, library, plan_id, digest=digest)


def places(small: SmallService, day_id: str = "") -> list[Place]:
    """The places nobody gave up, of one day or of all."""
    wanted = select(Place).where(Place.ended_at.is_(None)).order_by(Place.seat)
    with small.database.reading() as session:
        return list(session.scalars(wanted.where(Place.session_day_id == day_id) if day_id else wanted))
