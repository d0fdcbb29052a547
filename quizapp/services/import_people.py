"""Takes a roster over: first a dry run with every fault and the difference, then all of it in one act or nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Sequence
from typing import Any, TypeVar

from sqlalchemy import insert, select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role
from quizapp.assessment.roster import RosterRow, read_roster
from quizapp.assessment.roster_plan import KnownPerson, PersonChange, RosterPlan, plan_roster
from quizapp.errors import BadInput, ContentFaults
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record, record_many
from quizapp.services.last_assessors import bases_losing_their_assessors, tell_leads_of_lost_assessors
from quizapp.services.people import leave_person
from quizapp.services.require_right import require_right
from quizapp.store.accounts import Account
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant

ROWS_AT_ONCE = 1000
CLINICIANS_ROLE = "the role of clinician"

Item = TypeVar("Item")


def plan_import(act: Act, *, content: bytes, path: str) -> RosterPlan:
    """Compare a roster file with the people of the service and change nothing; `path` is the file's name.

    The plan's errors say, row by row, why the file cannot be taken over.
    """
    require_right(act, Right.IMPORT_PEOPLE)
    return plan_roster(
        read_roster(content, path=path, bases=_bases(act)),
        _known_people(act),
        importer_id=act.actor.person_id,
        path=path,
    )


def _bases(act: Act) -> dict[str, str]:
    return {base.code: base.id for base in act.session.scalars(select(RescueBase))}


def _known_people(act: Act) -> list[KnownPerson]:
    rows = act.session.execute(
        select(
            Person.id, Person.staff_number, Person.name, Person.profession, RescueBase.code,
            Person.joined_on, Person.email, Account.sign_in_name, Person.left_on,
        )
        .join(RescueBase, RescueBase.id == Person.base_id)
        .outerjoin(Account, Account.person_id == Person.id)
    )  # fmt: skip
    return [
        KnownPerson(
            person_id=person_id,
            staff_number=number,
            name=name,
            profession=profession,
            base=base,
            joined_on=joined_on,
            email=email,
            sign_in_name=sign_in_name,
            left_on=left_on,
        )
        for person_id, number, name, profession, base, joined_on, email, sign_in_name, left_on in rows
    ]


def import_people(act: Act, *, content: bytes, path: str, leaving: Collection[str] = ()) -> RosterPlan:
    """Take a roster over in one act and return what was done; the same file again changes nothing.

    New people become clinicians of their base; other roles are never touched. Nobody leaves for not being in the file,
    but for those chosen by id (`leaving`). Raises ContentFaults with every fault, BadInput for a choice not offered.
    """
    plan = plan_import(act, content=content, path=path)
    if plan.errors:
        raise ContentFaults(list(plan.errors))
    chosen = sorted(set(leaving))
    if set(chosen) - {one.person_id for one in plan.absent}:
        raise BadInput("Somebody marked as having left is in the file. Check the file once more.", field="leaving")
    lost = bases_losing_their_assessors(act, [one.person_id for one in plan.movers])
    bases = _bases(act)
    for chunk in _chunks(plan.new):
        record_many(act, _add_new(act, chunk, bases))
    for changes in _chunks(plan.changed):
        record_many(act, _apply_changes(act, changes, bases))
    tell_leads_of_lost_assessors(act, lost)
    for person_id in chosen:
        leave_person(act, person_id=person_id, left_on=act.today)
    counts = {"new": len(plan.new), "changed": len(plan.changed), "same": plan.same_count, "left": len(chosen)}
    file_hash = hashlib.sha256(content).hexdigest()
    record(act, AuditEvent.PEOPLE_IMPORTED, "file", file_hash[:32],
           thing=f"{counts['new']} new, {counts['changed']} changed, {counts['same']} the same, {counts['left']} left",
           after={**counts, "sha256": file_hash})  # fmt: skip
    return plan


def _chunks(items: Sequence[Item]) -> Iterator[Sequence[Item]]:
    """Cut a long list, so that a roster of any length needs little memory."""
    for start in range(0, len(items), ROWS_AT_ONCE):
        yield items[start : start + ROWS_AT_ONCE]


def _add_new(act: Act, rows: Sequence[RosterRow], bases: dict[str, str]) -> list[Entry]:
    people = [(act.randomness.new_id(), row) for row in rows]
    act.session.execute(insert(Person), [_person_values(act, person_id, row, bases) for person_id, row in people])
    grants = [_grant_values(act, person_id, row, bases) for person_id, row in people]
    act.session.execute(insert(RoleGrant), grants)
    accounts = [
        _account_values(act, person_id, row.sign_in_name) for person_id, row in people if row.sign_in_name is not None
    ]
    if accounts:
        act.session.execute(insert(Account), accounts)
    added = [
        Entry(
            event=AuditEvent.PERSON_ADDED,
            object_type="person",
            object_id=person_id,
            person_id=person_id,
            after={"base": bases[row.base]},
        )
        for person_id, row in people
    ]
    return [*added, *map(_granted, grants), *map(_account_made, accounts)]


def _person_values(act: Act, person_id: str, row: RosterRow, bases: dict[str, str]) -> dict[str, Any]:
    return {
        "id": person_id,
        "staff_number": row.staff_number,
        "name": row.name,
        "profession": row.profession,
        "base_id": bases[row.base],
        "email": row.email,
        "joined_on": row.joined_on,
        "left_on": None,
        "created_at": act.now,
    }


def _grant_values(act: Act, person_id: str, row: RosterRow, bases: dict[str, str]) -> dict[str, Any]:
    return {
        "id": act.randomness.new_id(),
        "person_id": person_id,
        "role": Role.CLINICIAN.value,
        "base_id": bases[row.base],
        "from_day": max(act.today, row.joined_on),
        "until_day": None,
        "granted_by": act.actor.person_id,
        "second_by": None,
        "reason": "taken over from a roster",
        "recognised": False,
        "granted_at": act.now,
    }


def _account_values(act: Act, person_id: str, sign_in_name: str) -> dict[str, Any]:
    return {
        "id": act.randomness.new_id(),
        "person_id": person_id,
        "sign_in_name": sign_in_name,
        "password_hash": None,
        "is_active": True,
        "created_at": act.now,
    }


def _granted(values: dict[str, Any]) -> Entry:
    return Entry(
        event=AuditEvent.ROLE_GRANTED,
        object_type="role_grant",
        object_id=values["id"],
        person_id=values["person_id"],
        thing=CLINICIANS_ROLE,
        after={"role": values["role"], "base": values["base_id"], "from": values["from_day"].isoformat()},
    )


def _account_made(values: dict[str, Any]) -> Entry:
    return Entry(
        event=AuditEvent.ACCOUNT_CREATED,
        object_type="account",
        object_id=values["id"],
        person_id=values["person_id"],
    )


def _apply_changes(act: Act, changes: Sequence[PersonChange], bases: dict[str, str]) -> list[Entry]:
    values = [
        {
            "id": one.person_id,
            "staff_number": one.row.staff_number,
            "name": one.row.name,
            "profession": one.row.profession,
            "base_id": bases[one.row.base],
            "joined_on": one.row.joined_on,
        }
        for one in changes
    ]
    act.session.execute(update(Person), values)
    emails = [{"id": one.person_id, "email": one.row.email} for one in changes if one.touches("email")]
    if emails:
        act.session.execute(update(Person), emails)
    entries = [
        Entry(
            event=AuditEvent.PERSON_CHANGED,
            object_type="person",
            object_id=one.person_id,
            person_id=one.person_id,
            thing=", ".join(field.field for field in one.fields),
        )
        for one in changes
    ]
    return [*entries, *_change_accounts(act, changes), *_move(act, changes, bases)]


def _change_accounts(act: Act, changes: Sequence[PersonChange]) -> Iterator[Entry]:
    wanted = {one.person_id: one.row.sign_in_name for one in changes if one.touches("sign_in_name")}
    if not wanted:
        return
    known = {
        account.person_id: account
        for account in act.session.scalars(select(Account).where(Account.person_id.in_(wanted)))
    }
    for person_id, sign_in_name in wanted.items():
        if sign_in_name is None:
            continue
        if person_id in known:
            known[person_id].sign_in_name = sign_in_name
        else:
            values = _account_values(act, person_id, sign_in_name)
            act.session.add(Account(**values))
            yield _account_made(values)


def _move(act: Act, changes: Sequence[PersonChange], bases: dict[str, str]) -> Iterator[Entry]:
    """Let the clinician's role go along to the new base; other roles stay where they were given."""
    moved = {one.person_id: one.row for one in changes if one.touches("base")}
    if not moved:
        return
    held = select(RoleGrant).where(
        RoleGrant.person_id.in_(moved), RoleGrant.role == Role.CLINICIAN.value, RoleGrant.ended_on.is_(None)
    )
    for grant in act.session.scalars(held).all():
        if grant.base_id is not None:
            grant.ended_at, grant.ended_on, grant.ended_by = act.now, act.today, act.actor.person_id
            yield Entry(
                event=AuditEvent.ROLE_ENDED,
                object_type="role_grant",
                object_id=grant.id,
                person_id=grant.person_id,
                thing=CLINICIANS_ROLE,
            )
    grants = [_grant_values(act, person_id, row, bases) for person_id, row in moved.items()]
    act.session.execute(insert(RoleGrant), grants)
    yield from map(_granted, grants)
