"""Accounts: made without a password, opened by a single-use code, ended at once; nobody sets another's password."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_fields import read_sign_in_name
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act, Randomness
from quizapp.services.administrators import refuse_to_lose_the_last
from quizapp.services.audit_trail import append, record
from quizapp.services.passwords import check_new_password, hash_password, matches, token_hash
from quizapp.services.require_right import refuse_oneself, require_right
from quizapp.store.accounts import Account, AccountInvitation, SessionRow
from quizapp.store.people import Person, Service

FIRST_CODE_LASTS = timedelta(days=7)
RESET_CODE_LASTS = timedelta(minutes=30)
CODE = re.compile(r"[0-9a-f]{32}")
NOT_VALID = (
    "Name and code do not go together, or the code is used or too old: it works once. Nothing was changed. "
    "Ask an administrator for a new one."
)


@dataclass(frozen=True, kw_only=True)
class Invitation:
    """A code to hand to one person, known only now: the store keeps its hash."""

    person_id: str
    sign_in_name: str
    code: str
    ends_at: datetime


def create_account(act: Act, *, person_id: str, sign_in_name: str) -> str:
    """Give a person of the service an account without a password; return its id."""
    require_right(act, Right.MANAGE_ACCOUNTS)
    person = act.session.get(Person, person_id)
    if person is None:
        raise NotFound("There is no such person.")
    if person.left_on is not None:
        raise Conflict("This person left the service. Nothing was changed.")
    account = Account(
        id=act.randomness.new_id(),
        person_id=person_id,
        sign_in_name=read_sign_in_name(sign_in_name),
        password_hash=None,
        is_active=True,
        created_at=act.now,
        password_set_at=None,
    )
    _refuse_taken(act.session, account)
    act.session.add(account)
    record(act, AuditEvent.ACCOUNT_CREATED, "account", account.id, person_id=person_id)
    return account.id


def _refuse_taken(session: Session, account: Account) -> None:
    taken = select(Account.sign_in_name, Account.person_id).where(
        (Account.sign_in_name == account.sign_in_name) | (Account.person_id == account.person_id)
    )
    for name, person_id in session.execute(taken):
        if person_id == account.person_id:
            raise Conflict("This person has an account already. Nothing was changed.")
        raise BadInput(f"The sign-in name {name} belongs to somebody else. Choose another.", field="sign_in_name")


def invite(act: Act, *, person_id: str) -> Invitation:
    """Start a first password (7 days) or a reset (30 minutes) for somebody else; earlier codes stop working.

    The administrator hands the code over and neither sees nor chooses the password; the old one works until then.
    """
    require_right(act, Right.MANAGE_ACCOUNTS)
    refuse_oneself(act, person_id, "start a reset of their own password this way")
    account = account_of(act.session, person_id)
    if not account.is_active:
        raise Conflict("This account is not active. Nothing was changed. Make it active first.")
    invitation = add_invitation(act.session, act.now, act.randomness, account, started_by=act.actor.person_id)
    record(act, AuditEvent.PASSWORD_RESET_STARTED, "account", account.id, person_id=person_id)
    return invitation


def add_invitation(
    session: Session, now: datetime, randomness: Randomness, account: Account, *, started_by: str | None
) -> Invitation:
    """Keep the hash of a new code and void the account's earlier ones; `started_by` None is the founding command."""
    _void_codes(session, now, account.id)
    digits = randomness.new_id()
    lasts = RESET_CODE_LASTS if account.password_hash else FIRST_CODE_LASTS
    session.add(
        AccountInvitation(
            id=randomness.new_id(),
            account_id=account.id,
            code_hash=token_hash(digits),
            started_by=started_by,
            created_at=now,
            ends_at=now + lasts,
            used_at=None,
        )
    )
    code = "-".join(digits[start : start + 4] for start in range(0, len(digits), 4))
    return Invitation(person_id=account.person_id, sign_in_name=account.sign_in_name, code=code, ends_at=now + lasts)


def _void_codes(session: Session, now: datetime, account_id: str) -> None:
    unused = (AccountInvitation.account_id == account_id, AccountInvitation.used_at.is_(None))
    session.execute(update(AccountInvitation).where(*unused).values(used_at=now))


def account_of(session: Session, person_id: str) -> Account:
    """Return a person's account; raise NotFound where there is none."""
    account = session.scalar(select(Account).where(Account.person_id == person_id))
    if account is None:
        raise NotFound("There is no such account.")
    return account


def own_sign_in_name(act: Act) -> str:
    """Return the actor's sign-in name."""
    account = act.session.get(Account, act.actor.account_id)
    return account.sign_in_name if account else ""


def set_password(act: Act, *, sign_in_name: str, code: str, password: str) -> None:
    """Set a password by an invitation code and the sign-in name it was made for; every session of the account ends.

    Raises BadInput in the same words for an unknown, a used and an expired code, and for another's name.
    """
    session, digits = act.session, re.sub(r"[\s-]", "", code).casefold()
    invitation = session.scalar(
        select(AccountInvitation).where(AccountInvitation.code_hash == token_hash(digits)).with_for_update()
    )
    if not CODE.fullmatch(digits) or invitation is None or invitation.used_at or invitation.ends_at <= act.now:
        raise BadInput(NOT_VALID, field="code")
    account = session.get_one(Account, invitation.account_id)
    person = session.get_one(Person, account.person_id)
    named = sign_in_name.strip().casefold() == account.sign_in_name
    if not named or not account.is_active or person.left_on is not None:
        raise BadInput(NOT_VALID, field="code")
    _keep_password(act, account, password)
    _void_codes(session, act.now, account.id)
    end_sessions(session, act.now, [account.id])
    append(session, act.now, actor_id=person.id, event=AuditEvent.PASSWORD_CHANGED, object_type="account",
           object_id=account.id, details={"by_code_of": invitation.started_by or "founding"})  # fmt: skip


def _keep_password(act: Act, account: Account, password: str) -> None:
    person = act.session.get_one(Person, account.person_id)
    service_name = act.session.scalar(select(Service.name)) or ""
    check_new_password(password, own_words=(account.sign_in_name, *person.name.split(), *service_name.split()))
    account.password_hash = hash_password(password)
    account.password_set_at = act.now


def change_password(act: Act, *, current: str, new: str, session_id: str) -> None:
    """Change one's own password and end one's other sessions; raise BadInput when the current one is wrong."""
    account = act.session.get(Account, act.actor.account_id)
    if account is None or not matches(account.password_hash, current):
        raise BadInput("That is not your password. Nothing was changed.", field="password")
    if current == new:
        raise BadInput("The new password is the old one. Nothing was changed.", field="new_password")
    try:
        _keep_password(act, account, new)
    except BadInput as fault:
        raise BadInput(str(fault), field="new_password") from None
    _void_codes(act.session, act.now, account.id)
    end_sessions(act.session, act.now, [account.id], but=session_id)
    record(act, AuditEvent.PASSWORD_CHANGED, "account", account.id, person_id=act.actor.person_id)


def end_sessions(session: Session, now: datetime, account_ids: list[str], *, but: str = "") -> int:
    """End the running sessions of many accounts, except one; return how many ended."""
    running = (SessionRow.account_id.in_(account_ids), SessionRow.ended_at.is_(None), SessionRow.id != but)
    ended = session.execute(update(SessionRow).where(*running).values(ended_at=now).returning(SessionRow.id))
    return len(ended.all())


def deactivate_account(act: Act, *, person_id: str) -> None:
    """Close an account: its sessions and codes end at once, everything recorded stays."""
    require_right(act, Right.MANAGE_ACCOUNTS)
    account = account_of(act.session, person_id)
    refuse_to_lose_the_last(act, person_id)
    if not account.is_active:
        raise Conflict("This account is not active already. Nothing was changed.")
    close_account(act, account)


def close_account(act: Act, account: Account) -> None:
    """Close an account that may be closed."""
    account.is_active = False
    _void_codes(act.session, act.now, account.id)
    end_sessions(act.session, act.now, [account.id])
    record(act, AuditEvent.ACCOUNT_DEACTIVATED, "account", account.id, person_id=account.person_id)


def reactivate_account(act: Act, *, person_id: str) -> None:
    """Open a closed account again, without a password: the person sets a new one by a code."""
    require_right(act, Right.MANAGE_ACCOUNTS)
    refuse_oneself(act, person_id, "make their own account active")
    account = account_of(act.session, person_id)
    if act.session.get_one(Person, person_id).left_on is not None:
        raise Conflict("This person left the service. Nothing was changed. Record their return first.")
    if account.is_active:
        raise Conflict("This account is active already. Nothing was changed.")
    account.is_active, account.password_hash, account.password_set_at = True, None, None
    record(act, AuditEvent.ACCOUNT_REACTIVATED, "account", account.id, person_id=person_id)
