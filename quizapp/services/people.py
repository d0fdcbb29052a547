"""People join, change, move to another base, leave and come back; leaving ends account, sessions and roles at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, or_, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.dates import parse_name
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_fields import read_email, read_profession, read_staff_number
from quizapp.assessment.role_grants import RoleWanted
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.accounts import close_account
from quizapp.services.act import Act
from quizapp.services.administrators import refuse_to_lose_the_last
from quizapp.services.audit_trail import record
from quizapp.services.end_belonging import end_standing_of_leaver
from quizapp.services.grant_role import close_grant, propose_role
from quizapp.services.last_assessors import bases_losing_their_assessors, tell_leads_of_lost_assessors
from quizapp.services.require_right import refuse_oneself, require_right
from quizapp.store.accounts import Account
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant


@dataclass(frozen=True, kw_only=True)
class PersonEntered:
    """What is entered about a person; `email` "" is none."""

    staff_number: str
    name: str
    profession: str
    base_id: str
    email: str
    joined_on: date


def add_person(act: Act, entered: PersonEntered) -> str:
    """Add a person as a clinician of a base and return the id; raise BadInput naming the field."""
    require_right(act, Right.IMPORT_PEOPLE)
    number = read_staff_number(entered.staff_number)
    if act.session.scalar(select(Person.id).where(func.lower(Person.staff_number) == number.casefold())):
        raise BadInput(f"The staff number {number} belongs to somebody already.", field="staff_number")
    _refuse_unknown_base(act, entered.base_id)
    person = Person(
        id=act.randomness.new_id(),
        staff_number=number,
        name=parse_name(entered.name, field="name"),
        profession=read_profession(entered.profession),
        base_id=entered.base_id,
        email=read_email(entered.email),
        joined_on=entered.joined_on,
        left_on=None,
        created_at=act.now,
    )
    act.session.add(person)
    act.session.flush()
    record(act, AuditEvent.PERSON_ADDED, "person", person.id, person_id=person.id, after={"base": person.base_id})
    _make_clinician(act, person, "added to the people of the service")
    return person.id


def _refuse_unknown_base(act: Act, base_id: str) -> None:
    if act.session.get(RescueBase, base_id) is None:
        raise BadInput("Choose a base of this service.", field="base_id")


def _make_clinician(act: Act, person: Person, reason: str) -> None:
    wanted = RoleWanted(
        role=Role.CLINICIAN,
        base_id=person.base_id,
        from_day=max(act.today, person.joined_on),
        until_day=None,
        recognised=False,
        reason=reason,
    )
    propose_role(act, person_id=person.id, wanted=wanted)


def _present(act: Act, person_id: str) -> Person:
    person = act.session.get(Person, person_id)
    if person is None:
        raise NotFound("There is no such person.")
    if person.left_on is not None:
        raise Conflict("This person left the service already. Nothing was changed.")
    return person


def change_person(act: Act, *, person_id: str, name: str, profession: str, email: str) -> None:
    """Correct what is written about a person; signatures given before keep the name as printed then."""
    require_right(act, Right.IMPORT_PEOPLE)
    person = _present(act, person_id)
    wanted = {
        "name": parse_name(name, field="name"),
        "profession": read_profession(profession),
        "email": read_email(email),
    }
    changed = [field for field, value in wanted.items() if getattr(person, field) != value]
    for field in changed:
        setattr(person, field, wanted[field])
    if changed:
        record(act, AuditEvent.PERSON_CHANGED, "person", person_id, person_id=person_id, thing=", ".join(changed))


def move_person(act: Act, *, person_id: str, base_id: str) -> None:
    """Move somebody else to another base; the clinician's role goes along, other roles stay where they were given."""
    require_right(act, Right.IMPORT_PEOPLE)
    refuse_oneself(act, person_id, "move themselves to another base")
    person = _present(act, person_id)
    _refuse_unknown_base(act, base_id)
    if person.base_id == base_id:
        raise Conflict("This person belongs to that base already. Nothing was changed.")
    before = person.base_id
    lost = bases_losing_their_assessors(act, [person_id])
    for grant in _grants(act, person_id):
        if grant.role == Role.CLINICIAN.value and grant.base_id == before:
            close_grant(act, grant)
    person.base_id = base_id
    act.session.flush()
    record(act, AuditEvent.PERSON_CHANGED, "person", person_id, person_id=person_id, thing="base",
           before={"base": before}, after={"base": base_id})  # fmt: skip
    _make_clinician(act, person, "moved to this base")
    tell_leads_of_lost_assessors(act, lost)


def _grants(act: Act, person_id: str) -> list[RoleGrant]:
    open_ones = (
        RoleGrant.person_id == person_id,
        RoleGrant.ended_on.is_(None),
        or_(RoleGrant.until_day.is_(None), RoleGrant.until_day >= act.today),
    )
    return list(act.session.scalars(select(RoleGrant).where(*open_ones).order_by(RoleGrant.granted_at, RoleGrant.id)))


def leave_person(act: Act, *, person_id: str, left_on: date) -> None:
    """Record that somebody left (today or before): account, sessions, roles and standing end now; records stay."""
    require_right(act, Right.IMPORT_PEOPLE)
    refuse_oneself(act, person_id, "record their own leaving")
    person = _present(act, person_id)
    if left_on > act.today:
        raise BadInput("Record this on the last day or after it: the account ends at once.", field="left_on")
    if left_on < person.joined_on:
        raise BadInput("The last day lies before the day this person joined.", field="left_on")
    refuse_to_lose_the_last(act, person_id)
    lost = bases_losing_their_assessors(act, [person_id])
    person.left_on, person.engaged_until = left_on, None
    end_standing_of_leaver(act, person, left_on)
    record(act, AuditEvent.PERSON_LEFT, "person", person_id, person_id=person_id, after={"on": left_on.isoformat()})
    for grant in _grants(act, person_id):
        close_grant(act, grant)
    account = act.session.scalar(select(Account).where(Account.person_id == person_id))
    if account is not None and account.is_active:
        close_account(act, account)
    tell_leads_of_lost_assessors(act, lost)


def return_person(act: Act, *, person_id: str, base_id: str, joined_on: date) -> None:
    """Record that somebody who left is back, as a clinician; the account stays closed until it is made active."""
    require_right(act, Right.IMPORT_PEOPLE)
    person = act.session.get(Person, person_id)
    if person is None:
        raise NotFound("There is no such person.")
    if person.left_on is None:
        raise Conflict("This person has not left. Nothing was changed.")
    if joined_on <= person.left_on:
        raise BadInput("The day of return lies before the day this person left.", field="joined_on")
    _refuse_unknown_base(act, base_id)
    person.left_on, person.base_id, person.joined_on = None, base_id, joined_on
    act.session.flush()
    record(act, AuditEvent.PERSON_CHANGED, "person", person_id, person_id=person_id, thing="return",
           after={"base": base_id, "on": joined_on.isoformat()})  # fmt: skip
    _make_clinician(act, person, "returned to the service")
