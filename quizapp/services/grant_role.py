"""Roles: proposed by one administrator, confirmed by a second where they carry weight, ended at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Select, or_, select

from quizapp.assessment.audit_events import AuditEvent, JsonValue
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_rules import may_end_role, may_grant
from quizapp.assessment.role_grants import RoleWanted, faults_of, needs_second
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.administrators import active_administrators, refuse_to_lose_the_last
from quizapp.services.audit_trail import record
from quizapp.services.require_right import allow, refuse_oneself, require_right
from quizapp.services.sign_in import actor_of
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant, RoleProposal


@dataclass(frozen=True, kw_only=True)
class RoleOutcome:
    """What became of a proposal: its id, and the id of the grant once there is one."""

    proposal_id: str | None
    grant_id: str | None


def propose_role(act: Act, *, person_id: str, wanted: RoleWanted) -> RoleOutcome:
    """Propose a role for somebody else; a clinician's is granted at once.

    Raises BadInput naming the field, NotAllowed for oneself, Conflict when the role is held or waiting already.
    """
    require_right(act, Right.MANAGE_ROLES)
    refuse_oneself(act, person_id, "grant themselves a role")
    _refuse_stranger(act, person_id)
    if wanted.base_id is not None and act.session.get(RescueBase, wanted.base_id) is None:
        raise BadInput("Choose a base of this service.", field="base_id")
    for fault in faults_of(wanted, act.today):
        raise BadInput(fault.message, field=fault.field)
    _refuse_held(act, person_id, wanted)
    _refuse_waiting(act, person_id, wanted)
    if not needs_second(wanted.role):
        return RoleOutcome(proposal_id=None, grant_id=_grant(act, person_id, wanted, granted_by=act.actor.person_id))
    proposal = RoleProposal(
        id=act.randomness.new_id(),
        person_id=person_id,
        role=wanted.role.value,
        base_id=wanted.base_id,
        from_day=wanted.from_day,
        until_day=wanted.until_day,
        recognised=wanted.recognised,
        reason=wanted.reason.strip(),
        proposed_by=act.actor.person_id,
        proposed_at=act.now,
        settled_by=None,
        settled_at=None,
        grant_id=None,
    )
    act.session.add(proposal)
    record(act, AuditEvent.ROLE_PROPOSED, "role_proposal", proposal.id, person_id=person_id,
           thing=role_words(wanted.role), after=_facts(wanted))  # fmt: skip
    return RoleOutcome(proposal_id=proposal.id, grant_id=None)


def role_words(role: Role) -> str:
    """Say a role as the audit trail says it."""
    return f"the role of {role.words}"


def _facts(wanted: RoleWanted) -> JsonValue:
    return {
        "role": wanted.role.value,
        "base": wanted.base_id,
        "from": wanted.from_day.isoformat(),
        "until": wanted.until_day.isoformat() if wanted.until_day else None,
        "recognised": wanted.recognised,
    }


def _refuse_stranger(act: Act, person_id: str) -> None:
    person = act.session.get(Person, person_id)
    if person is None:
        raise NotFound("There is no such person.")
    if person.left_on is not None:
        raise Conflict("This person left the service. Nothing was changed.")


def _overlapping(table: type[RoleGrant] | type[RoleProposal], person_id: str, wanted: RoleWanted) -> Select[str]:
    """Find the same role at the same place at an overlapping time."""
    return select(table.id).where(
        table.person_id == person_id,
        table.role == wanted.role.value,
        table.base_id.is_(None) if wanted.base_id is None else table.base_id == wanted.base_id,
        table.from_day <= (wanted.until_day or date.max),
        or_(table.until_day.is_(None), table.until_day >= wanted.from_day),
    )


def _refuse_held(act: Act, person_id: str, wanted: RoleWanted) -> None:
    if act.session.scalar(_overlapping(RoleGrant, person_id, wanted).where(RoleGrant.ended_on.is_(None))):
        raise Conflict("This person holds this role there already in that time. Nothing was changed.")


def _refuse_waiting(act: Act, person_id: str, wanted: RoleWanted) -> None:
    if act.session.scalar(_overlapping(RoleProposal, person_id, wanted).where(RoleProposal.settled_at.is_(None))):
        raise Conflict("This role was proposed for this person already and waits for a second administrator.")


def _grant(
    act: Act, person_id: str, wanted: RoleWanted, *, granted_by: str, settles: RoleProposal | None = None
) -> str:
    grant = RoleGrant(
        id=act.randomness.new_id(),
        person_id=person_id,
        role=wanted.role.value,
        base_id=wanted.base_id,
        from_day=wanted.from_day,
        until_day=wanted.until_day,
        granted_by=granted_by,
        second_by=act.actor.person_id if settles else None,
        reason=wanted.reason.strip(),
        recognised=wanted.recognised,
        granted_at=act.now,
        ended_at=None,
        ended_on=None,
        ended_by=None,
    )
    act.session.add(grant)
    if settles is not None:
        act.session.flush()
        settles.settled_by, settles.settled_at, settles.grant_id = act.actor.person_id, act.now, grant.id
    record(act, AuditEvent.ROLE_GRANTED, "role_grant", grant.id, person_id=person_id,
           thing=role_words(wanted.role), after=_facts(wanted))  # fmt: skip
    return grant.id


def _waiting(act: Act, proposal_id: str) -> RoleProposal:
    proposal = act.session.scalar(select(RoleProposal).where(RoleProposal.id == proposal_id).with_for_update())
    if proposal is None:
        raise NotFound("There is no such proposal.")
    if proposal.settled_at is not None:
        raise Conflict("This proposal was settled already. Nothing was changed. Load the page again.")
    return proposal


def confirm_role(act: Act, *, proposal_id: str) -> RoleOutcome:
    """Grant a proposed role, as a second administrator who is neither the proposer nor the person concerned."""
    require_right(act, Right.MANAGE_ROLES)
    proposal = _waiting(act, proposal_id)
    _refuse_stranger(act, proposal.person_id)
    allow(
        may_grant(
            actor_of(act.session, proposal.proposed_by),
            person_id=proposal.person_id,
            role=Role(proposal.role),
            base_id=proposal.base_id,
            second=act.actor,
            day=act.today,
        )
    )
    if proposal.until_day is not None and proposal.until_day < act.today:
        raise Conflict("The last day of this role has passed. Nothing was changed. Decline it.")
    wanted = RoleWanted(
        role=Role(proposal.role),
        base_id=proposal.base_id,
        from_day=max(proposal.from_day, act.today),
        until_day=proposal.until_day,
        recognised=proposal.recognised,
        reason=proposal.reason,
    )
    _refuse_held(act, proposal.person_id, wanted)
    grant_id = _grant(act, proposal.person_id, wanted, granted_by=proposal.proposed_by, settles=proposal)
    return RoleOutcome(proposal_id=proposal.id, grant_id=grant_id)


def decline_role(act: Act, *, proposal_id: str) -> None:
    """Settle a proposal without a grant; its proposer may do so too, the person concerned may not."""
    require_right(act, Right.MANAGE_ROLES)
    proposal = _waiting(act, proposal_id)
    refuse_oneself(act, proposal.person_id, "settle a proposal about themselves")
    proposal.settled_by, proposal.settled_at = act.actor.person_id, act.now
    record(act, AuditEvent.ROLE_ENDED, "role_proposal", proposal.id, person_id=proposal.person_id,
           thing=f"the proposal of {role_words(Role(proposal.role))}")  # fmt: skip


def end_role(act: Act, *, grant_id: str) -> None:
    """End a role now: it is not held from today on, and the next request of its holder goes without it."""
    require_right(act, Right.MANAGE_ROLES)
    grant = act.session.scalar(select(RoleGrant).where(RoleGrant.id == grant_id).with_for_update())
    if grant is None:
        raise NotFound("There is no such role.")
    if grant.ended_on is not None:
        raise Conflict("This role ended already. Nothing was changed.")
    if grant.role == Role.ADMINISTRATOR.value:
        refuse_to_lose_the_last(act, grant.person_id)
    allow(
        may_end_role(
            act.actor,
            person_id=grant.person_id,
            role=Role(grant.role),
            base_id=grant.base_id,
            active_administrator_ids=active_administrators(act),
            day=act.today,
        )
    )
    close_grant(act, grant)


def close_grant(act: Act, grant: RoleGrant) -> None:
    """End a grant that may be ended."""
    grant.ended_at, grant.ended_on, grant.ended_by = act.now, act.today, act.actor.person_id
    record(act, AuditEvent.ROLE_ENDED, "role_grant", grant.id, person_id=grant.person_id,
           thing=role_words(Role(grant.role)))  # fmt: skip
