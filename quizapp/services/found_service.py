"""Founds a service by command: name, zone, bases and two administrators with one-time codes; only ever once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo, available_timezones

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import parse_name
from quizapp.assessment.person_fields import read_profession, read_sign_in_name, read_staff_number
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict
from quizapp.services.accounts import Invitation, add_invitation
from quizapp.services.act import Randomness
from quizapp.services.audit_trail import CHAIN, SYSTEM, append
from quizapp.store.accounts import Account
from quizapp.store.people import FoundingPerson, Person, RescueBase, Service
from quizapp.store.roles import RoleGrant

# One fixed key: the database itself refuses a second founding, also one that runs at the same moment.
SERVICE_ID = f"{1:032x}"
LONGEST_CODE = 16


@dataclass(frozen=True, kw_only=True)
class FoundingBase:
    """A base of the new service: a short code, its name, and what it is like (mountain, island, road)."""

    code: str
    name: str
    setting: str


@dataclass(frozen=True, kw_only=True)
class FoundingAdministrator:
    """One of the two who found the service."""

    staff_number: str
    name: str
    sign_in_name: str
    profession: str = "administrator"


@dataclass(frozen=True, kw_only=True)
class ServiceWanted:
    """What a new service is: `zone` is a name of the time zone database, `is_demo` marks everything as invented."""

    name: str
    zone: str
    bases: Sequence[FoundingBase]
    administrators: Sequence[FoundingAdministrator]
    is_demo: bool = False


@dataclass(frozen=True, kw_only=True)
class Founded:
    """What was founded, and the two one-time codes, known only now."""

    service_id: str
    base_ids: dict[str, str]
    invitations: tuple[Invitation, ...]


def found_service(session: Session, now: datetime, randomness: Randomness, wanted: ServiceWanted) -> Founded:
    """Create the service, its bases and its two administrators, who set their passwords by the codes returned.

    Raises Conflict when a service is there already, BadInput naming what is wrong; nothing is written then.
    """
    if session.scalar(select(Service.id)) is not None:
        raise Conflict("A service was founded here already. Nothing was changed. Its administrators grant roles.")
    _check(wanted)
    name, zone = read_profession(wanted.name), ZoneInfo(wanted.zone)
    session.add(Service(id=SERVICE_ID, name=name, zone=zone.key, is_demo=wanted.is_demo, founded_at=now))
    append(session, now, actor_id=SYSTEM, event=AuditEvent.CHAIN_BEGUN, object_type="chain", object_id=CHAIN,
           details={"service": SERVICE_ID})  # fmt: skip
    base_ids = {base.code: randomness.new_id() for base in wanted.bases}
    for base in wanted.bases:
        session.add(RescueBase(id=base_ids[base.code], code=base.code, name=base.name, setting=base.setting))
    session.flush()
    first_base = base_ids[wanted.bases[0].code]
    invitations = tuple(
        _administrator(session, now, randomness, one, first_base, zone) for one in wanted.administrators
    )
    return Founded(service_id=SERVICE_ID, base_ids=base_ids, invitations=invitations)


def _check(wanted: ServiceWanted) -> None:
    if wanted.zone not in available_timezones():
        raise BadInput(f"{wanted.zone!r} is no time zone. Write one such as Europe/London.", field="zone")
    codes = [base.code.casefold() for base in wanted.bases]
    if not codes or len(set(codes)) < len(codes):
        raise BadInput("Name at least one base, each with a code of its own.", field="base")
    for base in wanted.bases:
        if not base.code.isascii() or not base.code.isalnum() or len(base.code) > LONGEST_CODE:
            raise BadInput(f"The base code {base.code!r} is not 1 to 16 letters A to Z and digits.", field="base")
        if not base.name.strip() or not base.setting.strip():
            raise BadInput(f"The base {base.code} needs a name and a setting: CODE:NAME:SETTING.", field="base")
    if len(wanted.administrators) != 2:
        raise BadInput("Exactly two administrators found a service, so that each act has a second person.",
                       field="administrator")  # fmt: skip
    for what, read in (("staff_number", read_staff_number), ("sign_in_name", read_sign_in_name)):
        if len({read(getattr(one, what)).casefold() for one in wanted.administrators}) < 2:
            raise BadInput("The two administrators are two people with two sign-in names.", field="administrator")


def _administrator(
    session: Session, now: datetime, randomness: Randomness, one: FoundingAdministrator, base_id: str, zone: ZoneInfo
) -> Invitation:
    today = now.astimezone(zone).date()
    person = Person(
        id=randomness.new_id(),
        staff_number=read_staff_number(one.staff_number),
        name=parse_name(one.name, field="administrator"),
        profession=read_profession(one.profession),
        base_id=base_id,
        email=None,
        joined_on=today,
        left_on=None,
        created_at=now,
    )
    session.add(person)
    session.flush()
    invitation = _account_and_role(session, now, randomness, person, read_sign_in_name(one.sign_in_name))
    append(session, now, actor_id=SYSTEM, event=AuditEvent.FOUNDED, object_type="person", object_id=person.id,
           details={"person": person.id, "thing": "as its administrator"})  # fmt: skip
    return invitation


def _account_and_role(
    session: Session, now: datetime, randomness: Randomness, person: Person, sign_in_name: str
) -> Invitation:
    account = Account(
        id=randomness.new_id(),
        person_id=person.id,
        sign_in_name=sign_in_name,
        password_hash=None,
        is_active=True,
        created_at=now,
        password_set_at=None,
    )
    role = RoleGrant(
        id=randomness.new_id(),
        person_id=person.id,
        role=Role.ADMINISTRATOR.value,
        base_id=None,
        from_day=person.joined_on,
        until_day=None,
        granted_by=None,
        second_by=None,
        reason="founded the service",
        recognised=False,
        granted_at=now,
        ended_at=None,
        ended_on=None,
        ended_by=None,
    )
    session.add_all([account, role, FoundingPerson(person_id=person.id, founded_at=now)])
    session.flush()
    return add_invitation(session, now, randomness, account, started_by=None)
