"""Rights come from roles, roles from days and bases."""

from __future__ import annotations

from datetime import date

import pytest

from quizapp.assessment.permissions import EVERYBODY, RIGHTS_OF, Actor, Right, has_right, rights_of
from quizapp.assessment.roles import Role, RoleHeld

DAY = date(2026, 5, 1)


def actor(*roles: Role, base_id: str | None = "cairnlow") -> Actor:
    held = tuple(RoleHeld(role=role, base_id=base_id, from_day=date(2026, 1, 1)) for role in roles)
    return Actor(person_id="p1", account_id="a1", name="Ada Bram", roles_held=held)


def test_every_role_has_rights_and_every_right_somebody():
    assert set(RIGHTS_OF) == set(Role)
    assert frozenset().union(*RIGHTS_OF.values()) == set(Right)


def test_somebody_without_a_role_may_do_nothing():
    assert rights_of(actor(), DAY) == frozenset()
    assert rights_of(actor(Role.EDUCATOR), date(2025, 12, 31)) == frozenset()


@pytest.mark.parametrize(
    ("right", "roles"),
    [
        (Right.OBSERVE, {Role.ASSESSOR}),
        (Right.DECIDE, {Role.EDUCATOR}),
        (Right.VOID_DECISION, {Role.EDUCATOR}),
        (Right.SET_STANDARD, {Role.EDUCATOR}),
        (Right.ACCEPT_CONTENT, {Role.CLINICAL_LEAD}),
        (Right.MANAGE_ROLES, {Role.ADMINISTRATOR}),
        (Right.IMPORT_PEOPLE, {Role.ADMINISTRATOR}),
        (Right.SEE_PERSON, {Role.ASSESSOR, Role.EDUCATOR, Role.TEAM_LEAD}),
        (Right.SEE_READINESS, {Role.EDUCATOR, Role.TEAM_LEAD}),
        (Right.SEE_AUDIT, {Role.TEAM_LEAD, Role.ADMINISTRATOR}),
    ],
)
def test_who_holds_the_rights_that_matter(right, roles):
    assert {role for role, rights in RIGHTS_OF.items() if right in rights} == roles


def test_an_administrator_sees_no_clinical_record_by_right():
    clinical = {Right.SEE_PERSON, Right.SEE_READINESS, Right.DECIDE, Right.OBSERVE, Right.SEE_STATISTICS}
    assert not RIGHTS_OF[Role.ADMINISTRATOR] & clinical


def test_a_right_reaches_as_far_as_the_role():
    assert has_right(actor(Role.TEAM_LEAD), Right.SEE_READINESS, DAY, "cairnlow")
    assert not has_right(actor(Role.TEAM_LEAD), Right.SEE_READINESS, DAY, "skerrandy")
    assert has_right(actor(Role.TEAM_LEAD, base_id=None), Right.SEE_READINESS, DAY, "skerrandy")
    assert has_right(actor(Role.TEAM_LEAD), Right.SEE_READINESS, DAY)


def test_a_clinical_lead_who_is_no_educator_has_no_rights():
    assert rights_of(actor(Role.CLINICAL_LEAD), DAY) == frozenset()
    assert Right.ACCEPT_CONTENT in rights_of(actor(Role.CLINICAL_LEAD, Role.EDUCATOR), DAY)


def test_everybody_may_sit_practise_and_see_their_own_record():
    for rights in RIGHTS_OF.values():
        assert rights >= EVERYBODY
