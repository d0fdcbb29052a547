"""Who may do what: an actor, the rights of each role, and rules on persons that stand over every role."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from quizapp.assessment.roles import Role, RoleHeld, bases_for, roles_on


@dataclass(frozen=True, kw_only=True)
class Actor:
    """The person who acts, as known at this request; rules compare persons, never accounts."""

    person_id: str
    account_id: str
    name: str
    roles_held: tuple[RoleHeld, ...] = ()

    def holds(self, role: Role, day: date, base_id: str | None = None) -> bool:
        """Whether the role is held on that day, anywhere or (with `base_id`) so that it reaches that base."""
        if base_id is None:
            return role in roles_on(self.roles_held, day)
        return base_id in bases_for(self.roles_held, role, day)


class Right(StrEnum):
    """A thing the product lets somebody do; each view and service names one."""

    SEE_OWN_RECORD = "see_own_record"
    SIT = "sit"
    PRACTISE = "practise"
    REHEARSE = "rehearse"
    CHALLENGE = "challenge"
    LOG_USE = "log_use"
    BOOK_PLACE = "book_place"
    CHECK_RECEIPT = "check_receipt"
    OBSERVE = "observe"
    DISCUSS = "discuss"
    SEE_PERSON = "see_person"
    SEE_READINESS = "see_readiness"
    SEE_STATISTICS = "see_statistics"
    SET_STANDARD = "set_standard"
    COMPOSE_ASSESSMENT = "compose_assessment"
    ASSIGN_ASSESSMENT = "assign_assessment"
    ADJUST_SITTING = "adjust_sitting"
    DECIDE = "decide"
    VOID_DECISION = "void_decision"
    RECOGNISE_EVIDENCE = "recognise_evidence"
    REVIEW_CHALLENGE = "review_challenge"
    PREVIEW_CONTENT = "preview_content"
    WITHDRAW_CONTENT = "withdraw_content"
    ACCEPT_CONTENT = "accept_content"
    SET_DEVICE_IN_SERVICE = "set_device_in_service"
    PAUSE_PERSON = "pause_person"
    PLAN_PLACES = "plan_places"
    PLAN_CREWS = "plan_crews"
    BUILD_EVIDENCE_FILE = "build_evidence_file"
    IMPORT_PEOPLE = "import_people"
    MANAGE_ACCOUNTS = "manage_accounts"
    MANAGE_ROLES = "manage_roles"
    SEE_AUDIT = "see_audit"
    BACK_UP = "back_up"
    OPEN_UNDER_EMERGENCY = "open_under_emergency"


EVERYBODY: frozenset[Right] = frozenset(
    {
        Right.SEE_OWN_RECORD,
        Right.SIT,
        Right.PRACTISE,
        Right.REHEARSE,
        Right.CHALLENGE,
        Right.LOG_USE,
        Right.BOOK_PLACE,
        Right.CHECK_RECEIPT,
    }
)

RIGHTS_OF: Mapping[Role, frozenset[Right]] = MappingProxyType(
    {
        Role.CLINICIAN: EVERYBODY,
        Role.ASSESSOR: EVERYBODY | {Right.OBSERVE, Right.DISCUSS, Right.SEE_PERSON},
        Role.EDUCATOR: EVERYBODY
        | {
            Right.DISCUSS,
            Right.SEE_PERSON,
            Right.SEE_READINESS,
            Right.SEE_STATISTICS,
            Right.SET_STANDARD,
            Right.COMPOSE_ASSESSMENT,
            Right.ASSIGN_ASSESSMENT,
            Right.ADJUST_SITTING,
            Right.DECIDE,
            Right.VOID_DECISION,
            Right.RECOGNISE_EVIDENCE,
            Right.REVIEW_CHALLENGE,
            Right.PREVIEW_CONTENT,
            Right.WITHDRAW_CONTENT,
            Right.SET_DEVICE_IN_SERVICE,
            Right.PAUSE_PERSON,
            Right.PLAN_PLACES,
        },
        Role.CLINICAL_LEAD: EVERYBODY | {Right.ACCEPT_CONTENT, Right.PREVIEW_CONTENT, Right.WITHDRAW_CONTENT},
        Role.TEAM_LEAD: EVERYBODY
        | {
            Right.SEE_PERSON,
            Right.SEE_READINESS,
            Right.SET_DEVICE_IN_SERVICE,
            Right.PAUSE_PERSON,
            Right.PLAN_PLACES,
            Right.PLAN_CREWS,
            Right.BUILD_EVIDENCE_FILE,
            Right.SEE_AUDIT,
        },
        Role.ADMINISTRATOR: EVERYBODY
        | {
            Right.IMPORT_PEOPLE,
            Right.MANAGE_ACCOUNTS,
            Right.MANAGE_ROLES,
            Right.SEE_AUDIT,
            Right.BACK_UP,
            Right.OPEN_UNDER_EMERGENCY,
        },
    }
)


def rights_of(actor: Actor, day: date) -> frozenset[Right]:
    """Give every right the actor's roles carry on a civil day of the service's zone, at any base."""
    rights: frozenset[Right] = frozenset()
    for role in roles_on(actor.roles_held, day):
        rights |= RIGHTS_OF[role]
    return rights


def has_right(actor: Actor, right: Right, day: date, base_id: str | None = None) -> bool:
    """Whether one of the actor's roles carries the right that day, anywhere or (with `base_id`) at that base."""
    return any(actor.holds(role, day, base_id) for role, rights in RIGHTS_OF.items() if right in rights)
