"""The second factor: a code of six digits that changes every 30 seconds (RFC 6238), or a recovery code once.

A code is taken once, and one span early or late, since clocks drift. A new secret counts from the first right code.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
from dataclasses import dataclass
from datetime import datetime, timedelta

import pyotp
from sqlalchemy import delete, func, select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, Conflict
from quizapp.services.accounts import account_of, end_sessions
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.passwords import token_hash
from quizapp.services.require_right import refuse_oneself, require_right
from quizapp.services.sealing import Sealer
from quizapp.services.throttle import count_failure, throttle_of
from quizapp.store.accounts import SessionRow
from quizapp.store.second_factors import RecoveryCode, SecondFactor

SPAN_S = 30
RECOVERY_CODES = 10
SETTING_UP_LASTS = timedelta(minutes=30)
SIX_DIGITS = re.compile(r"[0-9]{6}")
WRONG = "That code is not right, or was used already. Nothing was changed. Wait for the next one and write that."


@dataclass(frozen=True, kw_only=True)
class FactorState:
    """How far somebody is: since when a second factor is set, and how many recovery codes are unused."""

    set_at: datetime | None
    codes_left: int


@dataclass(frozen=True, kw_only=True)
class NewFactor:
    """A second factor being set up: what to scan or type, and the recovery codes to write down."""

    address: str
    secret: str
    recovery_codes: tuple[str, ...]


def own_factor(act: Act) -> FactorState:
    """Say how one's own account stands."""
    account_id = act.actor.account_id
    set_at = act.session.scalar(
        select(SecondFactor.confirmed_at).where(
            SecondFactor.account_id == account_id, SecondFactor.confirmed_at.is_not(None)
        )
    )
    unused = select(func.count()).where(RecoveryCode.account_id == account_id, RecoveryCode.used_at.is_(None))
    return FactorState(set_at=set_at, codes_left=act.session.scalar(unused) or 0)


def begin_second_factor(act: Act, sealer: Sealer) -> str:
    """Make a new secret for oneself; one set before stays until the new one is confirmed. Returns the row's id."""
    mine = SecondFactor.account_id == act.actor.account_id
    act.session.execute(delete(SecondFactor).where(mine, SecondFactor.confirmed_at.is_(None)))
    secret = base64.b32encode(bytes.fromhex(act.randomness.seed())[:20]).decode()
    factor = SecondFactor(
        id=act.randomness.new_id(),
        account_id=act.actor.account_id,
        sealed_secret=sealer.seal(secret),
        sealed_seed=sealer.seal(act.randomness.seed()),
        begun_at=act.now,
        confirmed_at=None,
        last_step=0,
    )
    act.session.add(factor)
    act.session.flush()
    return factor.id


def being_set_up(act: Act, sealer: Sealer, *, service_name: str, sign_in_name: str) -> NewFactor | None:
    """Return what to scan and write down, or None where nothing was begun in the last half hour."""
    factor = _begun(act)
    if factor is None:
        return None
    secret = sealer.opened(factor.sealed_secret)
    address = pyotp.TOTP(secret).provisioning_uri(name=sign_in_name, issuer_name=service_name)
    codes = _recovery_codes(sealer.opened(factor.sealed_seed))
    return NewFactor(address=address, secret=secret, recovery_codes=codes)


def _begun(act: Act) -> SecondFactor | None:
    return act.session.scalar(
        select(SecondFactor).where(
            SecondFactor.account_id == act.actor.account_id,
            SecondFactor.confirmed_at.is_(None),
            SecondFactor.begun_at > act.now - SETTING_UP_LASTS,
        )
    )


def _recovery_codes(seed: str) -> tuple[str, ...]:
    """Ten codes of twelve letters and digits, 60 bits each."""
    codes = []
    for number in range(RECOVERY_CODES):
        drawn = hmac.new(bytes.fromhex(seed), str(number).encode(), hashlib.sha256).digest()
        letters = base64.b32encode(drawn).decode()[:12].lower()
        codes.append("-".join(letters[start : start + 4] for start in range(0, 12, 4)))
    return tuple(codes)


def confirm_second_factor(act: Act, sealer: Sealer, *, code: str, session_id: str) -> str:
    """Take the new secret into use by a code made with it; return the session's new token.

    Earlier secrets and recovery codes stop working and one's other sessions end.
    """
    factor = _begun(act)
    if factor is None:
        raise Conflict("Nothing is being set up, or it was begun too long ago. Nothing was changed. Begin again.")
    step = _taken_step(act, sealer.opened(factor.sealed_secret), code, after=0)
    if step is None:
        raise BadInput(WRONG, field="code")
    codes = _recovery_codes(sealer.opened(factor.sealed_seed))
    _forget(act, act.actor.account_id, but=factor.id)
    factor.confirmed_at, factor.last_step, factor.sealed_seed = act.now, step, ""
    for one in codes:
        act.session.add(
            RecoveryCode(id=act.randomness.new_id(), account_id=factor.account_id,
                         code_hash=token_hash(one.replace("-", "")), made_at=act.now, used_at=None)
        )  # fmt: skip
    end_sessions(act.session, act.now, [factor.account_id], but=session_id)
    record(act, AuditEvent.SECOND_FACTOR_SET, "account", factor.account_id, person_id=act.actor.person_id)
    return _given(act, session_id)


def _forget(act: Act, account_id: str, *, but: str = "") -> None:
    act.session.execute(delete(SecondFactor).where(SecondFactor.account_id == account_id, SecondFactor.id != but))
    act.session.execute(delete(RecoveryCode).where(RecoveryCode.account_id == account_id))


def _taken_step(act: Act, secret: str, code: str, *, after: int) -> int | None:
    """Return the span whose code this is, if it is later than the last one taken and at most one from now."""
    digits = re.sub(r"\s", "", code)
    if not SIX_DIGITS.fullmatch(digits):
        return None
    maker, now = pyotp.HOTP(secret), int(act.now.timestamp()) // SPAN_S
    fitting = [step for step in (now - 1, now, now + 1) if step > after and hmac.compare_digest(maker.at(step), digits)]
    return fitting[0] if fitting else None


def _given(act: Act, session_id: str) -> str:
    """Note that the code was shown in this session, and give the session a new token."""
    token = act.randomness.secret()
    act.session.execute(
        update(SessionRow)
        .where(SessionRow.id == session_id)
        .values(token_hash=token_hash(token), second_factor_at=act.now)
    )
    return token


def show_second_factor(act: Act, sealer: Sealer, *, code: str, session_id: str) -> str | None:
    """Check a code or a recovery code at sign-in; return the session's new token, or None when it is not right.

    Wrong ones make the next try wait, as wrong passwords do.
    """
    throttle = throttle_of(act.session, f"code:{act.actor.account_id}", act.now)
    if throttle.next_try_at > act.now:
        return None
    if _is_right(act, sealer, code):
        throttle.failures, throttle.next_try_at = 0, act.now
        return _given(act, session_id)
    count_failure(throttle, act.now)
    record(act, AuditEvent.SECOND_FACTOR_REFUSED, "account", act.actor.account_id, person_id=act.actor.person_id,
           after={"failures": throttle.failures})  # fmt: skip
    return None


def _is_right(act: Act, sealer: Sealer, code: str) -> bool:
    account_id = act.actor.account_id
    factor = act.session.scalar(
        select(SecondFactor)
        .where(SecondFactor.account_id == account_id, SecondFactor.confirmed_at.is_not(None))
        .with_for_update()
    )
    if factor is None:
        return False
    if SIX_DIGITS.fullmatch(re.sub(r"\s", "", code)):
        step = _taken_step(act, sealer.opened(factor.sealed_secret), code, after=factor.last_step)
        factor.last_step = step or factor.last_step
        return step is not None
    return _takes_recovery_code(act, account_id, code)


def _takes_recovery_code(act: Act, account_id: str, code: str) -> bool:
    hashed = token_hash(re.sub(r"[\s-]", "", code).casefold())
    used = act.session.execute(
        update(RecoveryCode)
        .where(RecoveryCode.account_id == account_id, RecoveryCode.code_hash == hashed, RecoveryCode.used_at.is_(None))
        .values(used_at=act.now)
        .returning(RecoveryCode.id)
    ).all()
    if used:
        record(act, AuditEvent.RECOVERY_CODE_USED, "account", account_id, person_id=act.actor.person_id)
    return bool(used)


def forget_second_factor(act: Act, *, person_id: str) -> None:
    """Forget somebody else's second factor, whose telephone is lost; their sessions end at once.

    The password stays: at the next sign-in they set up a new one.
    """
    require_right(act, Right.MANAGE_ACCOUNTS)
    refuse_oneself(act, person_id, "have their own second factor forgotten")
    account = account_of(act.session, person_id)
    _forget(act, account.id)
    end_sessions(act.session, act.now, [account.id])
    record(act, AuditEvent.SECOND_FACTOR_REMOVED, "account", account.id, person_id=person_id)
