"""Roles: from which day, until which day, where."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.roles import Role, RoleHeld, bases_for, roles_on

MARCH = date(2026, 3, 1)


def held(role: Role, base_id: str | None = "cairnlow", **more: date | None) -> RoleHeld:
    return RoleHeld(role=role, base_id=base_id, from_day=MARCH, **more)


@pytest.mark.parametrize(
    ("day", "expected"),
    [(date(2026, 2, 28), False), (MARCH, True), (date(2026, 4, 30), True), (date(2026, 5, 1), False)],
)
def test_first_and_last_day_are_both_inside(day, expected):
    role = held(Role.ASSESSOR, until_day=date(2026, 4, 30))
    assert role.is_held_on(day) is expected


def test_a_role_taken_away_is_gone_that_very_day_and_stays_in_the_history():
    role = held(Role.ASSESSOR, until_day=None, ended_on=date(2026, 3, 10))
    assert not role.is_held_on(date(2026, 3, 10))
    assert role.is_held_on(date(2026, 3, 9))


@given(st.integers(-400, 400), st.integers(-400, 400), st.integers(-400, 400))
def test_a_role_is_held_on_one_unbroken_run_of_days(until, ended, day):
    role = held(Role.EDUCATOR, until_day=MARCH + timedelta(until), ended_on=MARCH + timedelta(ended))
    today = MARCH + timedelta(day)
    assert role.is_held_on(today) == (0 <= day <= until and day < ended)


def test_the_clinical_lead_is_an_educator():
    lead = held(Role.CLINICAL_LEAD, base_id=None)
    assert roles_on([lead], MARCH) == frozenset()
    assert roles_on([lead, held(Role.EDUCATOR, base_id="skerrandy")], MARCH) == {Role.EDUCATOR}
    assert Role.CLINICAL_LEAD in roles_on([lead, held(Role.EDUCATOR, base_id=None)], MARCH)


def test_bases_of_a_role():
    posts = [held(Role.TEAM_LEAD), held(Role.TEAM_LEAD, "skerrandy", until_day=MARCH), held(Role.ASSESSOR, None)]
    assert bases_for(posts, Role.TEAM_LEAD, MARCH).base_ids == {"cairnlow", "skerrandy"}
    later = bases_for(posts, Role.TEAM_LEAD, date(2026, 3, 2))
    assert "skerrandy" not in later
    assert "port-venn" in bases_for(posts, Role.ASSESSOR, MARCH)
    assert not bases_for(posts, Role.EDUCATOR, MARCH)


def test_a_role_says_itself_in_words():
    assert Role.TEAM_LEAD.words == "team lead"
