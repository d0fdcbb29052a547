"""Looks at records are written down, and everybody reads who looked at theirs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.record_looks import LookKind
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.people import Person
from quizapp.store.record_looks import RecordLook

MOST_SHOWN = 500
SAME_LOOK = timedelta(minutes=30)
"""Opening the same page again within so long is one look."""


@dataclass(frozen=True, kw_only=True)
class LookAtMe:
    """One look at the actor's record: who, when, at what, about which minute, and for what stated purpose."""

    who: str
    looked_at: datetime
    kind: LookKind
    asked_about: datetime | None
    purpose: str


def write_look(
    act: Act, person_id: str, kind: LookKind, *, purpose: str = "", asked_about: datetime | None = None
) -> str:
    """Write down a look of the actor at somebody else's record and return its id."""
    row = RecordLook(
        id=act.randomness.new_id(),
        person_id=person_id,
        looked_by=act.actor.person_id,
        kind=kind.value,
        asked_about=asked_about,
        purpose=purpose,
        looked_at=act.now,
    )
    act.session.add(row)
    record(act, AuditEvent.RECORD_SEEN, "record_look", row.id, person_id=person_id, thing=kind.value)
    return row.id


def note_page(act: Act, person_id: str, kind: LookKind) -> None:
    """Write down that the actor opened a page about somebody else, once in half an hour."""
    if person_id == act.actor.person_id or act.session.get(Person, person_id) is None:
        return
    known = act.session.scalar(
        select(RecordLook.id)
        .where(RecordLook.person_id == person_id, RecordLook.looked_by == act.actor.person_id)
        .where(RecordLook.kind == kind.value, RecordLook.looked_at > act.now - SAME_LOOK)
        .limit(1)
    )
    if known is None:
        write_look(act, person_id, kind)


def looks_at_me(act: Act) -> tuple[LookAtMe, ...]:
    """Return the looks at the actor's own record, newest first, 500 at most."""
    require_right(act, Right.SEE_OWN_RECORD)
    rows = act.session.execute(
        select(RecordLook, Person.name)
        .join(Person, Person.id == RecordLook.looked_by)
        .where(RecordLook.person_id == act.actor.person_id)
        .order_by(RecordLook.looked_at.desc(), RecordLook.id)
        .limit(MOST_SHOWN)
    )
    return tuple(
        LookAtMe(who=name, looked_at=row.looked_at, kind=LookKind(row.kind), asked_about=row.asked_about,
                 purpose=row.purpose)
        for row, name in rows
    )  # fmt: skip
