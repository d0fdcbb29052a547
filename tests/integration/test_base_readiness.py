"""The readiness of a base from what is stored: who counts, on which day, and only at one's own bases."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import NotAllowed, NotFound
from quizapp.services.base_readiness import BaseReadiness, base_readiness, bases_seen, readiness_csv
from quizapp.store.decisions import Decision
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from tests.counted_statements import counted_statements
from tests.deciding import decide, show, with_standard
from tests.many_people import add_clinicians
from tests.small_service import SmallService


@pytest.fixture
def ruled(small: SmallService, library: Library) -> SmallService:
    """Mira is signed off until 2 March 2027, Tor and Una are not."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    return small


def seen(small: SmallService, library: Library, *, by: str = "leif", after: timedelta = timedelta()) -> BaseReadiness:
    with small.acting(by, at=small.now + after) as act:
        return base_readiness(act, library)


def test_counts_and_names(ruled: SmallService, library: Library) -> None:
    page = seen(ruled, library)
    assert (page.base.name, page.readiness.people, page.readiness.in_date) == ("Cairnlow", 3, 1)
    assert page.readiness.counts[PersonStanding.NOT_YET_SIGNED_OFF] == 2
    assert [one.name for one in page.readiness.not_in_date] == ["Tor", "Una"]
    assert page.readiness.ahead == ()


@pytest.mark.parametrize(("days_before", "window"), [(90, 90), (60, 60), (30, 30), (0, 30)])
def test_the_windows_close_on_their_last_day(
    ruled: SmallService, library: Library, days_before: int, window: int
) -> None:
    page = seen(ruled, library, after=timedelta(days=365 - days_before))
    assert [one.days_left for one in page.readiness.ahead] == [days_before]
    assert page.readiness.ending_within[window] == 1


def test_the_day_after_the_last_one_nobody_is_current(ruled: SmallService, library: Library) -> None:
    page = seen(ruled, library, after=timedelta(days=366))
    assert page.readiness.in_date == 0
    assert page.readiness.counts[PersonStanding.LAPSED] == 1


def test_the_day_is_that_of_the_service(ruled: SmallService, library: Library) -> None:
    """In July 23:30 UTC is the next day in London already (British Summer Time)."""
    with ruled.acting("leif", at=ruled.now.replace(month=7, day=1, hour=23, minute=30)) as act:
        assert base_readiness(act, library).readiness.day.isoformat() == "2026-07-02"


def test_only_clinicians_of_the_base_who_are_here_count(ruled: SmallService, library: Library) -> None:
    with ruled.database.writing() as session:
        session.get_one(Person, ruled.person_id("una")).left_on = ruled.now.date()
        grants = session.scalars(
            select(RoleGrant).where(RoleGrant.person_id == ruled.person_id("tor"), RoleGrant.role == Role.CLINICIAN)
        )
        for grant in grants:
            grant.until_day = ruled.now.date() - timedelta(days=1)
    assert [one.person.name for one in seen(ruled, library).people] == ["Mira"]


def test_a_voided_decision_does_not_count(ruled: SmallService, library: Library) -> None:
    with ruled.database.writing() as session:
        for decision in session.scalars(select(Decision)):
            decision.voided_at = ruled.now
    assert seen(ruled, library, after=timedelta(minutes=1)).readiness.in_date == 0


def test_one_sees_ones_own_bases_only(ruled: SmallService, library: Library) -> None:
    with ruled.acting("leif") as act:
        assert [base.name for base in bases_seen(act)] == ["Cairnlow"]
        with pytest.raises(NotFound):
            base_readiness(act, library, ruled.other_base_id)
        with pytest.raises(NotFound):
            readiness_csv(act, library, ruled.other_base_id)
    with ruled.acting("mira") as act, pytest.raises(NotAllowed):
        base_readiness(act, library)


def test_a_team_lead_of_the_whole_service_sees_every_base(ruled: SmallService, library: Library) -> None:
    with ruled.database.writing() as session:
        for grant in session.scalars(select(RoleGrant).where(RoleGrant.role == Role.TEAM_LEAD)):
            grant.base_id = None
    with ruled.acting("leif") as act:
        assert [base.name for base in bases_seen(act)] == ["Cairnlow", "Skerrandy"]
        assert base_readiness(act, library, ruled.other_base_id).readiness.people == 1


def test_the_file_has_a_row_for_everybody(ruled: SmallService, library: Library) -> None:
    with ruled.acting("leif") as act:
        rows = list(csv.reader(io.StringIO(readiness_csv(act, library, ruled.base_id), newline="")))
    assert [len(row) for row in rows] == [9] * 4
    assert rows[1][:5] == ["2026-03-02", "Cairnlow", "T-mira", "Mira", "current"]


def test_many_people_take_no_more_statements(ruled: SmallService, library: Library) -> None:
    found = []
    for start, number in ((0, 3), (3, 57)):
        add_clinicians(ruled, number, start=start)
        with counted_statements(ruled.database) as statements:
            seen(ruled, library)
        found.append(len(statements))
    assert found[0] == found[1]
