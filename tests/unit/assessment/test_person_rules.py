"""Nobody acts for themselves, and what needs two people is never done by one."""

from __future__ import annotations

from datetime import date
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.permissions import Actor
from quizapp.assessment.person_rules import (
    Allowed,
    Denied,
    PersonView,
    may_accept_content,
    may_change_standing,
    may_decide,
    may_end_role,
    may_grant,
    may_observe,
    may_see_person,
    may_turn_to_competent,
    may_void,
    needs_two_people,
)
from quizapp.assessment.roles import Role, RoleHeld
from quizapp.assessment.standing_moves import StandingAct
from quizapp.assessment.standing_record import CompetencyStanding, Outcome

DAY = date(2026, 5, 1)
BASE = "cairnlow"
NOBODY: frozenset[str] = frozenset()


def person(person_id: str, *roles: Role, base_id: str | None = BASE, account_id: str = "a") -> Actor:
    held = tuple(RoleHeld(role=role, base_id=base_id, from_day=date(2026, 1, 1)) for role in roles)
    return Actor(person_id=person_id, account_id=account_id, name=f"Person {person_id}", roles_held=held)


EVERY_ROLE = tuple(Role)


def observe(observer: Actor, standing: CompetencyStanding = CompetencyStanding.CURRENT) -> Allowed | Denied:
    return may_observe(observer, observed_id="p1", base_id=BASE, is_current=standing.is_in_date, day=DAY)


def test_an_assessor_of_the_base_who_is_current_may_observe():
    assert observe(person("p2", Role.ASSESSOR)) == Allowed()
    assert observe(person("p2", Role.ASSESSOR), CompetencyStanding.LAPSING) == Allowed()
    assert isinstance(observe(person("p2", Role.EDUCATOR)), Denied)
    assert isinstance(observe(person("p2", Role.ASSESSOR, base_id="skerrandy")), Denied)


@pytest.mark.parametrize("standing", [one for one in CompetencyStanding if not one.is_in_date])
def test_an_assessor_who_is_not_current_may_not_sign(standing):
    denied = observe(person("p2", Role.ASSESSOR), standing)
    assert isinstance(denied, Denied)
    assert "not current" in denied.reason
    assert "kept" in denied.reason


@given(st.sampled_from(["a", "b"]), st.sampled_from([BASE, None]), st.sampled_from(StandingAct))
def test_no_role_and_no_second_account_lets_anybody_act_for_themselves(account_id, base_id, act):
    self_ = person("p1", *EVERY_ROLE, base_id=base_id, account_id=account_id)
    other = person("p2", *EVERY_ROLE, base_id=None)
    refused = [
        observe(self_),
        may_decide(self_, person_id="p1", base_id=BASE, sole_assessor_ids=NOBODY, day=DAY),
        *(
            may_void(first, second, person_id="p1", base_id=BASE, day=DAY)
            for first, second in ((self_, other), (other, self_), (self_, None))
        ),
        *(
            may_turn_to_competent(first, second, person_id="p1", base_id=BASE, sole_assessor_ids=NOBODY, day=DAY)
            for first, second in ((self_, other), (other, self_))
        ),
        *(
            may_grant(first, person_id="p1", role=role, base_id=None, second=second, day=DAY)
            for role, (first, second) in product(Role, ((self_, other), (self_, None)))
        ),
        *(
            may_grant(other, person_id="p1", role=role, base_id=None, second=self_, day=DAY)
            for role in Role
            if role is not Role.CLINICIAN
        ),
        may_accept_content(self_, author_ids=frozenset({"p1"}), day=DAY),
    ]
    if act not in {StandingAct.DECIDE, StandingAct.VOID}:
        refused.append(may_change_standing(self_, act, person_id="p1", base_id=BASE, day=DAY))
    assert all(isinstance(verdict, Denied) for verdict in refused)


def test_an_educator_decides_but_not_as_the_only_assessor_who_carries_it():
    decider = person("p2", Role.EDUCATOR, Role.ASSESSOR)

    def decide(*sole: str, recent: frozenset[str] = NOBODY) -> Allowed | Denied:
        return may_decide(
            decider,
            person_id="p1",
            base_id=BASE,
            sole_assessor_ids=frozenset(sole),
            day=DAY,
            decided_on_decider_ids=recent,
        )

    assert decide() == Allowed()
    assert decide("p3") == Allowed()
    assert isinstance(decide("p2"), Denied)
    assert decide(recent=frozenset({"p1"})) == Allowed(is_reciprocal=True)
    elsewhere = person("p2", Role.EDUCATOR, base_id="skerrandy")
    assert isinstance(may_decide(elsewhere, person_id="p1", base_id=BASE, sole_assessor_ids=NOBODY, day=DAY), Denied)


@pytest.mark.parametrize(("previous", "new"), list(product([None, *Outcome], Outcome)))
def test_only_not_yet_to_competent_needs_a_second_signature(previous, new):
    assert needs_two_people(previous, new) == ((previous, new) == (Outcome.NOT_YET, Outcome.COMPETENT))


def test_a_void_needs_two_different_educators():
    first, second = person("p2", Role.EDUCATOR), person("p3", Role.EDUCATOR)
    same_person_again = person("p2", Role.EDUCATOR, account_id="b")
    assert may_void(first, second, person_id="p1", base_id=BASE, day=DAY) == Allowed()
    for other in (None, same_person_again, person("p3", Role.ASSESSOR), person("p3", Role.EDUCATOR, base_id="x")):
        assert isinstance(may_void(first, other, person_id="p1", base_id=BASE, day=DAY), Denied)


def test_not_yet_becomes_competent_by_two_who_both_may_decide():
    first, second = person("p2", Role.EDUCATOR), person("p3", Role.EDUCATOR)

    def turn(other: Actor | None, *sole: str) -> Allowed | Denied:
        return may_turn_to_competent(
            first, other, person_id="p1", base_id=BASE, sole_assessor_ids=frozenset(sole), day=DAY
        )

    assert turn(second) == Allowed()
    assert isinstance(turn(None), Denied)
    assert isinstance(turn(second, "p3"), Denied)
    assert isinstance(turn(second, "p2"), Denied)


@pytest.mark.parametrize("role", list(Role))
def test_a_role_is_granted_by_two_administrators_except_that_of_a_clinician(role):
    first, second = person("p2", Role.ADMINISTRATOR, base_id=None), person("p3", Role.ADMINISTRATOR, base_id=None)
    assert may_grant(first, person_id="p1", role=role, base_id=None, second=second, day=DAY) == Allowed()
    alone = may_grant(first, person_id="p1", role=role, base_id=None, second=None, day=DAY)
    assert isinstance(alone, Denied) == (role is not Role.CLINICIAN)
    not_one = may_grant(person("p2", Role.EDUCATOR), person_id="p1", role=role, base_id=None, second=second, day=DAY)
    assert isinstance(not_one, Denied)


def test_an_administrator_of_one_base_grants_nothing_beyond_it():
    first, second = person("p2", Role.ADMINISTRATOR), person("p3", Role.ADMINISTRATOR)

    def grant(base_id: str | None) -> Allowed | Denied:
        return may_grant(first, person_id="p1", role=Role.ASSESSOR, base_id=base_id, second=second, day=DAY)

    assert grant(BASE) == Allowed()
    assert isinstance(grant("skerrandy"), Denied)
    assert isinstance(grant(None), Denied)


def test_the_last_administrator_stays():
    ender = person("p2", Role.ADMINISTRATOR, base_id=None)

    def end(person_id: str, *active: str, role: Role = Role.ADMINISTRATOR) -> Allowed | Denied:
        return may_end_role(
            ender, person_id=person_id, role=role, base_id=None, active_administrator_ids=frozenset(active), day=DAY
        )

    assert isinstance(end("p2", "p2"), Denied)
    assert end("p2", "p2", "p3") == Allowed()
    assert end("p2", "p2", role=Role.ASSESSOR) == Allowed()
    denied = may_end_role(
        person("p9", Role.EDUCATOR),
        person_id="p1",
        role=Role.ASSESSOR,
        base_id=None,
        active_administrator_ids=NOBODY,
        day=DAY,
    )
    assert isinstance(denied, Denied)


def test_a_team_lead_may_pause_but_not_suspend():
    lead = person("p2", Role.TEAM_LEAD)
    assert may_change_standing(lead, StandingAct.PAUSE, person_id="p1", base_id=BASE, day=DAY) == Allowed()
    denied = may_change_standing(lead, StandingAct.SUSPEND, person_id="p1", base_id=BASE, day=DAY)
    assert denied == Denied("Person p2 is no educator for this base on this day.")
    with pytest.raises(ValueError, match="own rule"):
        may_change_standing(lead, StandingAct.VOID, person_id="p1", base_id=BASE, day=DAY)


def test_content_is_accepted_by_a_clinical_lead_who_did_not_write_it():
    lead = person("p2", Role.EDUCATOR, Role.CLINICAL_LEAD)
    assert may_accept_content(lead, author_ids=frozenset({"p4"}), day=DAY) == Allowed()
    assert isinstance(may_accept_content(lead, author_ids=frozenset({"p2"}), day=DAY), Denied)
    assert isinstance(may_accept_content(person("p3", Role.EDUCATOR), author_ids=NOBODY, day=DAY), Denied)


@pytest.mark.parametrize(
    ("viewer", "last_observed", "view"),
    [
        (person("p1", Role.CLINICIAN), None, PersonView.OWN),
        (person("p2", Role.CLINICIAN), None, None),
        (person("p2", Role.EDUCATOR), None, PersonView.TEACHING),
        (person("p2", Role.TEAM_LEAD), None, PersonView.OUTCOMES),
        (person("p2", Role.TEAM_LEAD, base_id="skerrandy"), None, None),
        (person("p2", Role.ASSESSOR), None, None),
        (person("p2", Role.ASSESSOR), date(2026, 4, 1), PersonView.OBSERVING),
        (person("p2", Role.ASSESSOR), date(2026, 3, 31), None),
        (person("p2", Role.ADMINISTRATOR, base_id=None), None, None),
    ],
)
def test_who_sees_how_much_of_a_person(viewer, last_observed, view):
    verdict = may_see_person(viewer, person_id="p1", base_id=BASE, last_observed=last_observed, day=DAY)
    assert (verdict.view if isinstance(verdict, Allowed) else None) == view
