"""Signing in and out: throttled per name, alike for unknown names, sessions kept in the database and revocable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import and_, select, update
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Actor
from quizapp.assessment.roles import Role, RoleHeld
from quizapp.errors import NotFound
from quizapp.services.act import Act, Randomness
from quizapp.services.audit_trail import append
from quizapp.services.passwords import matches, token_hash
from quizapp.services.throttle import count_failure, throttle_of
from quizapp.store.accounts import Account, SessionRow, SignInThrottle
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from quizapp.store.second_factors import SecondFactor

IDLE = timedelta(minutes=30)
ABSOLUTE = timedelta(hours=12)
SEEN_EVERY = timedelta(minutes=1)


@dataclass(frozen=True, kw_only=True)
class SignInOutcome:
    """The token for the cookie, or why there is none (the same words for a wrong name and a wrong password)."""

    token: str | None
    wait_s: int = 0


@dataclass(frozen=True, kw_only=True)
class SignedIn:
    """Who is signed in on this browser, and whether a code beside the password is set up and was shown."""

    actor: Actor
    session_id: str
    base_id: str
    last_seen_at: datetime
    has_second_factor: bool = False
    second_factor_shown: bool = False


def sign_in(session: Session, now: datetime, randomness: Randomness, *, name: str, password: str) -> SignInOutcome:
    """Check name and password and open a session; count failures and make the next try wait."""
    throttle = throttle_of(session, name, now)
    if throttle.next_try_at > now:
        return SignInOutcome(token=None, wait_s=max(1, round((throttle.next_try_at - now).total_seconds())))
    account = session.scalar(select(Account).where(Account.sign_in_name == name.strip().casefold()))
    usable = account if account is not None and account.is_active else None
    if not matches(usable.password_hash if usable else None, password) or usable is None:
        return _refuse(session, now, throttle)
    throttle.failures, throttle.next_try_at = 0, now
    token = randomness.secret()
    row = SessionRow(
        id=randomness.new_id(),
        token_hash=token_hash(token),
        account_id=usable.id,
        started_at=now,
        last_seen_at=now,
        ends_at=now + ABSOLUTE,
        ended_at=None,
    )
    session.add(row)
    append(session, now, actor_id=usable.person_id, event=AuditEvent.SIGNED_IN, object_type="session",
           object_id=row.id, details={})  # fmt: skip
    return SignInOutcome(token=token)


def _refuse(session: Session, now: datetime, throttle: SignInThrottle) -> SignInOutcome:
    wait = count_failure(throttle, now)
    append(session, now, actor_id="", event=AuditEvent.SIGN_IN_REFUSED, object_type="sign_in_name",
           object_id=throttle.name_hash[:32], details={"failures": throttle.failures})  # fmt: skip
    return SignInOutcome(token=None, wait_s=int(wait.total_seconds()) if wait else 0)


def who_is_signed_in(session: Session, now: datetime, token: str) -> SignedIn | None:
    """Find the person behind a cookie; None when the session ended, idled out, or the account is not active."""
    found = session.execute(
        select(SessionRow, Account, Person, SecondFactor.id)
        .join(Account, Account.id == SessionRow.account_id)
        .join(Person, Person.id == Account.person_id)
        .outerjoin(SecondFactor, and_(SecondFactor.account_id == Account.id, SecondFactor.confirmed_at.is_not(None)))
        .where(SessionRow.token_hash == token_hash(token))
    ).one_or_none()
    if found is None:
        return None
    row, account, person, factor_id = found
    live = row.ended_at is None and now < row.ends_at and now - row.last_seen_at < IDLE
    if not live or not account.is_active or person.left_on is not None:
        return None
    actor = Actor(
        person_id=person.id,
        account_id=account.id,
        name=person.name,
        roles_held=roles_of(session, [person.id])[person.id],
    )
    return SignedIn(
        actor=actor,
        session_id=row.id,
        base_id=person.base_id,
        last_seen_at=row.last_seen_at,
        has_second_factor=factor_id is not None,
        second_factor_shown=row.second_factor_at is not None,
    )


def roles_of(session: Session, person_ids: list[str]) -> dict[str, tuple[RoleHeld, ...]]:
    """Return the roles of many people with one statement."""
    held: dict[str, list[RoleHeld]] = {person_id: [] for person_id in person_ids}
    for grant in session.scalars(select(RoleGrant).where(RoleGrant.person_id.in_(person_ids))):
        held[grant.person_id].append(
            RoleHeld(
                role=Role(grant.role),
                base_id=grant.base_id,
                from_day=grant.from_day,
                until_day=grant.until_day,
                ended_on=grant.ended_on,
            )
        )
    return {person_id: tuple(roles) for person_id, roles in held.items()}


def actor_of(session: Session, person_id: str) -> Actor:
    """Return somebody as an actor, with the roles they hold; raises NotFound where there is no such person."""
    found = session.execute(
        select(Person, Account.id).outerjoin(Account, Account.person_id == Person.id).where(Person.id == person_id)
    ).one_or_none()
    if found is None:
        raise NotFound("There is no such person.")
    person, account_id = found
    return Actor(
        person_id=person.id,
        account_id=account_id or "",
        name=person.name,
        roles_held=roles_of(session, [person_id])[person_id],
    )


def seen(session: Session, now: datetime, session_id: str) -> None:
    """Note that the browser was seen, at most once a minute."""
    session.execute(
        update(SessionRow)
        .where(SessionRow.id == session_id, SessionRow.last_seen_at < now - SEEN_EVERY)
        .values(last_seen_at=now)
    )


def sign_out(act: Act, session_id: str) -> None:
    """End this browser's session."""
    act.session.execute(update(SessionRow).where(SessionRow.id == session_id).values(ended_at=act.now))
    append(act.session, act.now, actor_id=act.actor.person_id, event=AuditEvent.SIGNED_OUT, object_type="session",
           object_id=session_id, details={})  # fmt: skip


def proves_it_is_them(act: Act, password: str) -> bool:
    """Tell whether the actor's own password is right; for signatures and role grants, in the same request.

    Wrong ones make the next try wait, as at sign-in: a browser left open is no place to guess from.
    """
    throttle = throttle_of(act.session, f"again:{act.actor.account_id}", act.now)
    account = act.session.get(Account, act.actor.account_id)
    if throttle.next_try_at <= act.now and account is not None and matches(account.password_hash, password):
        throttle.failures, throttle.next_try_at = 0, act.now
        return True
    if throttle.next_try_at <= act.now:
        count_failure(throttle, act.now)
    return False
