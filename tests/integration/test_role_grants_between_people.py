"""Roles are never one's own to give; all but a clinician's take two administrators; the database refuses the rest."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from small_service import PASSWORD, SmallService
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.role_grants import RoleWanted
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.accounts import deactivate_account
from quizapp.services.grant_role import RoleOutcome, confirm_role, decline_role, end_role, propose_role
from quizapp.services.sign_in import roles_of, sign_in, who_is_signed_in
from quizapp.store.audit import AuditRow
from quizapp.store.roles import RoleGrant, RoleProposal

TODAY = date(2026, 3, 2)


def wanted(small: SmallService, role: Role, **changed: object) -> RoleWanted:
    whole = role in (Role.ADMINISTRATOR, Role.CLINICAL_LEAD)
    values: dict[str, object] = {
        "role": role, "base_id": None if whole else small.base_id, "from_day": TODAY, "until_day": None,
        "recognised": False, "reason": "agreed at the governance meeting",
    }  # fmt: skip
    return RoleWanted(**{**values, **changed})  # type: ignore[arg-type]


def proposed(small: SmallService, name: str, role: Role, *, by: str = "ada", **changed: object) -> RoleOutcome:
    with small.acting(by) as act:
        return propose_role(act, person_id=small.person_id(name), wanted=wanted(small, role, **changed))


def holds(small: SmallService, name: str, role: Role, day: date = TODAY) -> bool:
    person_id = small.person_id(name)
    with small.database.reading() as session:
        return any(one.role is role and one.is_held_on(day) for one in roles_of(session, [person_id])[person_id])


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CLINICIAN])
def test_a_role_with_weight_waits_for_a_second_administrator(small: SmallService, role: Role) -> None:
    outcome = proposed(small, "petra", role)
    assert outcome.grant_id is None
    assert outcome.proposal_id is not None
    assert not holds(small, "petra", role)
    with small.acting("ada") as act, pytest.raises(NotAllowed):
        confirm_role(act, proposal_id=outcome.proposal_id)
    with small.acting("bea") as act:
        confirm_role(act, proposal_id=outcome.proposal_id)
    assert holds(small, "petra", role)
    with small.database.reading() as session:
        grant = session.scalars(select(RoleGrant).where(RoleGrant.granted_by.is_not(None))).one()
    assert (grant.granted_by, grant.second_by) == (small.person_id("ada"), small.person_id("bea"))


def test_a_clinician_is_granted_by_one(small: SmallService) -> None:
    assert proposed(small, "ines", Role.CLINICIAN).grant_id is not None
    assert holds(small, "ines", Role.CLINICIAN)


@pytest.mark.parametrize("role", list(Role))
def test_nobody_proposes_a_role_for_themselves(small_sqlite: SmallService, role: Role) -> None:
    with pytest.raises(NotAllowed):
        proposed(small_sqlite, "ada", role)


def test_nobody_confirms_a_role_for_themselves(small: SmallService) -> None:
    outcome = proposed(small, "bea", Role.EDUCATOR)
    with small.acting("bea") as act, pytest.raises(NotAllowed):
        confirm_role(act, proposal_id=outcome.proposal_id or "")
    with small.acting("bea") as act, pytest.raises(NotAllowed):
        decline_role(act, proposal_id=outcome.proposal_id or "")
    assert not holds(small, "bea", Role.EDUCATOR)


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "cleo", "leif"])
def test_only_administrators_propose_confirm_and_end(small_sqlite: SmallService, name: str) -> None:
    outcome = proposed(small_sqlite, "petra", Role.ASSESSOR)
    with small_sqlite.acting(name) as act:
        with pytest.raises(NotAllowed):
            propose_role(act, person_id=small_sqlite.person_id("una"), wanted=wanted(small_sqlite, Role.EDUCATOR))
        with pytest.raises(NotAllowed):
            confirm_role(act, proposal_id=outcome.proposal_id or "")
        with pytest.raises(NotAllowed):
            end_role(act, grant_id="0" * 32)


def raw_grant(small: SmallService, **changed: object) -> RoleGrant:
    values: dict[str, object] = {
        "id": "9" * 32, "person_id": small.person_id("mira"), "role": "assessor", "base_id": small.base_id,
        "from_day": TODAY, "until_day": None, "granted_by": small.person_id("ada"),
        "second_by": small.person_id("bea"), "reason": "test", "recognised": False, "granted_at": small.now,
    }  # fmt: skip
    return RoleGrant(**{**values, **changed})


@pytest.mark.parametrize(
    "changed",
    [
        {"granted_by": "mira"},
        {"second_by": "mira"},
        {"second_by": "ada"},
        {"second_by": None},
        {"recognised": True},
        {"until_day": TODAY - timedelta(days=1)},
        {"ended_on": TODAY},
    ],
    ids=str,
)
def test_the_database_refuses_it_too(small: SmallService, changed: dict[str, object]) -> None:
    named = {key: small.person_id(value) if isinstance(value, str) else value for key, value in changed.items()}
    with pytest.raises(IntegrityError), small.database.writing() as session:
        session.add(raw_grant(small, **named))


def test_the_database_takes_a_grant_with_two_names(small: SmallService) -> None:
    with small.database.writing() as session:
        session.add(raw_grant(small))
    assert holds(small, "mira", Role.ASSESSOR)


@pytest.mark.parametrize(
    ("role", "changed", "field"),
    [
        (Role.ASSESSOR, {"from_day": TODAY - timedelta(days=1)}, "from_day"),
        (Role.ASSESSOR, {"until_day": TODAY - timedelta(days=1)}, "until_day"),
        (Role.ASSESSOR, {"recognised": True}, "until_day"),
        (Role.ASSESSOR, {"recognised": True, "until_day": date(2027, 3, 3)}, "until_day"),
        (Role.ADMINISTRATOR, {"recognised": True, "until_day": date(2027, 3, 1)}, "recognised"),
        (Role.ADMINISTRATOR, {"base_id": "b" * 32}, "base_id"),
        (Role.ASSESSOR, {"base_id": "0" * 32}, "base_id"),
        (Role.ASSESSOR, {"reason": "because"}, "reason"),
        (Role.ASSESSOR, {"reason": "x" * 1001}, "reason"),
    ],
    ids=str,
)
def test_a_grant_that_cannot_be_is_refused(
    small_sqlite: SmallService, role: Role, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        proposed(small_sqlite, "mira", role, **changed)
    assert refused.value.field == field


def test_a_role_recognised_on_outside_evidence_ends_within_twelve_months(small: SmallService) -> None:
    outcome = proposed(small, "mira", Role.EDUCATOR, recognised=True, until_day=date(2027, 3, 2))
    with small.acting("bea") as act:
        confirm_role(act, proposal_id=outcome.proposal_id or "")
    assert holds(small, "mira", Role.EDUCATOR, date(2027, 3, 2))
    assert not holds(small, "mira", Role.EDUCATOR, date(2027, 3, 3))


def test_a_role_held_or_waiting_already_is_not_proposed_again(small: SmallService) -> None:
    with pytest.raises(Conflict, match="holds this role"):
        proposed(small, "tor", Role.ASSESSOR)
    proposed(small, "mira", Role.ASSESSOR)
    with pytest.raises(Conflict, match="waits"):
        proposed(small, "mira", Role.ASSESSOR, by="bea")
    proposed(small, "mira", Role.ASSESSOR, base_id=small.other_base_id)


def test_a_settled_proposal_stays_settled(small: SmallService) -> None:
    declined = proposed(small, "mira", Role.ASSESSOR).proposal_id or ""
    with small.acting("ada") as act:
        decline_role(act, proposal_id=declined)
    for settle in (confirm_role, decline_role):
        with small.acting("bea") as act, pytest.raises(Conflict):
            settle(act, proposal_id=declined)
        with small.acting("bea") as act, pytest.raises(NotFound):
            settle(act, proposal_id="0" * 32)
    assert not holds(small, "mira", Role.ASSESSOR)


def test_a_proposal_of_somebody_who_lost_the_role_is_not_confirmed(small: SmallService) -> None:
    third = proposed(small, "leif", Role.ADMINISTRATOR).proposal_id or ""
    with small.acting("bea") as act:
        confirm_role(act, proposal_id=third)
    proposal_id = proposed(small, "mira", Role.EDUCATOR, by="ada").proposal_id or ""
    with small.acting("bea") as act:
        grant = act.session.scalars(select(RoleGrant).where(RoleGrant.person_id == small.person_id("ada"))).one()
        end_role(act, grant_id=grant.id)
    with small.acting("leif") as act, pytest.raises(NotAllowed):
        confirm_role(act, proposal_id=proposal_id)


def test_an_ended_role_is_gone_at_the_next_request(small: SmallService) -> None:
    with small.database.writing() as session:
        token = sign_in(session, small.now, small.randomness, name="tor", password=PASSWORD).token or ""
    with small.acting("ada") as act:
        grants = act.session.scalars(select(RoleGrant).where(RoleGrant.person_id == small.person_id("tor"))).all()
        end_role(act, grant_id=next(one.id for one in grants if one.role == Role.ASSESSOR))
    with small.database.reading() as session:
        found = who_is_signed_in(session, small.now, token)
    assert found is not None
    assert found.actor.holds(Role.CLINICIAN, TODAY)
    assert not found.actor.holds(Role.ASSESSOR, TODAY)


def test_a_role_is_ended_once(small_sqlite: SmallService) -> None:
    outcome = proposed(small_sqlite, "ines", Role.CLINICIAN)
    with small_sqlite.acting("ada") as act:
        end_role(act, grant_id=outcome.grant_id or "")
        with pytest.raises(Conflict):
            end_role(act, grant_id=outcome.grant_id or "")
        with pytest.raises(NotFound):
            end_role(act, grant_id="0" * 32)


def test_a_deactivated_proposer_still_needs_a_different_confirmer(small: SmallService) -> None:
    proposal_id = proposed(small, "mira", Role.ASSESSOR, by="bea").proposal_id or ""
    with small.acting("ada") as act:
        deactivate_account(act, person_id=small.person_id("bea"))
    with small.acting("bea") as act, pytest.raises(NotAllowed):
        confirm_role(act, proposal_id=proposal_id)


def test_both_steps_are_on_the_audit_trail(small: SmallService) -> None:
    proposal_id = proposed(small, "mira", Role.ASSESSOR).proposal_id or ""
    with small.acting("bea") as act:
        confirm_role(act, proposal_id=proposal_id)
    with small.database.reading() as session:
        rows = session.scalars(select(AuditRow).order_by(AuditRow.seq)).all()
        settled = session.scalars(select(RoleProposal)).one()
    assert [(row.event, row.actor_id) for row in rows] == [
        ("role_proposed", small.person_id("ada")),
        ("role_granted", small.person_id("bea")),
    ]
    assert settled.grant_id is not None
