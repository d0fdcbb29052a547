"""Somebody leaves, or an engagement ends: the standing ends, nothing from before holds again, every record stays."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.fair_paths import PathOutcome
from quizapp.assessment.roles import Role
from quizapp.assessment.sitting_time import ExtraTime
from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed
from quizapp.services.end_belonging import set_engagement
from quizapp.services.people import leave_person, return_person
from quizapp.services.person_standing import standing_of
from quizapp.services.sitting_adjustments import AdjustmentWanted, set_adjustment
from quizapp.store.decisions import Decision
from quizapp.store.fair_paths import FairPath, SittingAdjustment
from quizapp.store.kept_standings import KeptStanding
from tests.observing import sign_off
from tests.small_service import SmallService
from tests.walking import opened, walking


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    walking(small, library)
    for code in ("C5", "C8"):
        sign_off(small, "mira", code)
    return small


def stands(small: SmallService, library: Library, *, after: timedelta = timedelta(), seen: timedelta | None = None):  # type: ignore[no-untyped-def]
    at = small.now + after
    with small.acting("ada", at=small.now + (seen if seen is not None else after)) as act:
        return standing_of(act, library, small.person_id("mira"), at=at).report


def leave(small: SmallService, *, by: str = "ada", after: timedelta = timedelta(hours=3)) -> None:
    with small.acting(by, at=small.now + after) as act:
        leave_person(act, person_id=small.person_id("mira"), left_on=act.today)


def test_the_standing_ends_at_the_minute_it_is_recorded(ready: SmallService, library: Library) -> None:
    leave(ready)
    later = timedelta(days=1)
    assert stands(ready, library, after=timedelta(hours=2), seen=later).standing is PersonStanding.CURRENT
    report = stands(ready, library, after=timedelta(hours=3), seen=later)
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert "the standing ended on 2 March 2026" in report.sentence
    with ready.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Decision).where(
            Decision.person_id == ready.person_id("mira"))) == 2  # fmt: skip


def test_back_again_nothing_from_before_holds(ready: SmallService, library: Library) -> None:
    leave(ready)
    with ready.acting("ada", at=ready.now + timedelta(days=30)) as act:
        return_person(act, person_id=ready.person_id("mira"), base_id=ready.base_id, joined_on=act.today)
    assert stands(ready, library, after=timedelta(days=31)).standing is PersonStanding.NOT_YET_SIGNED_OFF


def test_paths_and_adjustments_end_with_it(ready: SmallService) -> None:
    path_id = opened(ready)
    with ready.acting("ines") as act:
        wanted = AdjustmentWanted(extra_time=ExtraTime.HALF, room="a quiet room", from_day=act.today, until_day=None)
        adjustment_id = set_adjustment(act, person_id=ready.person_id("mira"), wanted=wanted)
    leave(ready)
    with ready.database.reading() as session:
        path, adjustment = session.get_one(FairPath, path_id), session.get_one(SittingAdjustment, adjustment_id)
        assert path.outcome == PathOutcome.ENDED
        assert (adjustment.room, adjustment.ended_at is not None) == ("", True)


def test_an_engagement_ends_by_itself(ready: SmallService, library: Library) -> None:
    """The last day is inclusive: role and standing hold on it and are over the day after."""
    last_day = ready.now.date() + timedelta(days=40)
    with ready.acting("ada") as act:
        set_engagement(act, person_id=ready.person_id("mira"), until_day=last_day)
    assert stands(ready, library, after=timedelta(days=40)).standing is PersonStanding.CURRENT
    over = stands(ready, library, after=timedelta(days=41))
    assert over.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert "the standing ended" in over.sentence
    for days, holds in ((40, True), (41, False)):
        with ready.acting("mira", at=ready.now + timedelta(days=days)) as act:
            assert act.actor.holds(Role.CLINICIAN, act.today) is holds
    with ready.acting("ada", at=ready.now + timedelta(days=41)) as act, pytest.raises(Conflict, match="is over"):
        set_engagement(act, person_id=ready.person_id("mira"), until_day=act.today + timedelta(days=9))


def test_an_engagement_can_be_made_longer_or_lasting_before_it_ends(ready: SmallService, library: Library) -> None:
    for until in (10, 60, None):
        with ready.acting("ada") as act:
            day = None if until is None else act.today + timedelta(days=until)
            set_engagement(act, person_id=ready.person_id("mira"), until_day=day)
    assert stands(ready, library, after=timedelta(days=70)).standing is PersonStanding.CURRENT


def test_who_sets_it_and_how_far(ready: SmallService) -> None:
    for name in ("mira", "ines", "leif"):
        with ready.acting(name) as act, pytest.raises(NotAllowed):
            set_engagement(act, person_id=ready.person_id("una"), until_day=act.today)
    with ready.acting("ada") as act, pytest.raises(NotAllowed):
        set_engagement(act, person_id=act.actor.person_id, until_day=act.today)
    for days in (-1, 400):
        with ready.acting("ada") as act, pytest.raises(BadInput) as refusal:
            set_engagement(act, person_id=ready.person_id("mira"), until_day=act.today + timedelta(days=days))
        assert refusal.value.field == "until_day"


def test_what_is_kept_of_a_standing_is_thrown_away_with_it(ready: SmallService) -> None:
    mira = ready.person_id("mira")

    def kept() -> bool:
        with ready.database.reading() as session:
            return session.get(KeptStanding, mira) is not None

    def keep() -> None:
        with ready.database.writing() as session:
            session.add(KeptStanding(person_id=mira, base_id=ready.base_id, steps=[], kept_at=ready.now))

    keep()
    assert kept()
    with ready.acting("ada") as act:
        set_engagement(act, person_id=mira, until_day=act.today + timedelta(days=9))
    assert not kept()
    keep()
    leave(ready)
    assert not kept()
