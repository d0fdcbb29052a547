"""The second person of an act that needs two: proves who they are in the same request."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Actor
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.audit_trail import append
from quizapp.services.passwords import matches
from quizapp.services.sign_in import actor_of, proves_it_is_them
from quizapp.store.accounts import Account


@dataclass(frozen=True, kw_only=True)
class SecondPerson:
    """The second person of an act that needs two, by sign-in name and password."""

    sign_in_name: str = ""
    password: str = ""


def proven_second(act: Act, second: SecondPerson | None, *, object_type: str, object_id: str) -> Actor | None:
    """Return the second person where one is named and proves who they are; None where nobody is named.

    Raises BadInput on `second_password`; the refusal is kept in the audit trail, so call it before any other change.
    """
    if second is None or not second.sign_in_name.strip():
        return None
    account = act.session.scalar(
        select(Account).where(Account.sign_in_name == second.sign_in_name.strip().casefold(), Account.is_active)
    )
    actor = actor_of(act.session, account.person_id) if account else None
    if actor is not None and proves_it_is_them(replace(act, actor=actor), second.password):
        return actor
    if actor is None:
        matches(None, second.password)  # an unknown name takes as long as a wrong password
    append(
        act.session, act.now, actor_id=act.actor.person_id, event=AuditEvent.REFUSED,
        object_type=object_type, object_id=object_id, details={"thing": "signature, second person"},
    )  # fmt: skip
    raise BadInput(
        "The second person's name and password do not go together, or there were too many tries. Nothing was signed. "
        "Wait a little, then try again.",
        field="second_password",
    )
