"""A person takes their own evidence away, sees who looked at it since, and may revoke it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.check_codes import code_from, written
from quizapp.content.library import Library
from quizapp.errors import Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.take_away_statement import statement_bytes
from quizapp.store.audit import AuditRow
from quizapp.store.take_aways import TakeAway, TakeAwayLook, TakeAwayRevocation

OBJECT = "take_away"
MOST_LOOKS = 100


@dataclass(frozen=True, kw_only=True)
class TakenAway:
    """One take-away in a list: its code as printed, when it was made, when revoked, how often it was looked at."""

    id: str
    code: str
    made_at: datetime
    revoked_at: datetime | None
    look_count: int
    last_look_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class Look:
    """One look of somebody without an account: when, by code or file, and what they were told."""

    looked_at: datetime
    how: str
    told: str


@dataclass(frozen=True, kw_only=True)
class OwnTakeAway:
    """One's own take-away whole: the statement and its exact bytes, its place on the audit chain, every look at it."""

    line: TakenAway
    statement: dict[str, Any]
    statement_text: str
    statement_hash: str
    audit_seq: int
    audit_hash: str
    looks: tuple[Look, ...]


def take_away(act: Act, library: Library) -> str:
    """Keep a statement of the actor's own evidence under a new check code, and return its id."""
    code = code_from(act.randomness.seed())
    statement = statement_bytes(act, library, code=written(code))
    row = TakeAway(
        id=act.randomness.new_id(),
        person_id=act.actor.person_id,
        code=code,
        statement=statement.decode("utf-8"),
        statement_hash=hashlib.sha256(statement).hexdigest(),
        made_at=act.now,
    )
    act.session.add(row)
    record(
        act, AuditEvent.EVIDENCE_TAKEN_AWAY, OBJECT, row.id, person_id=row.person_id, thing="own evidence",
        after={"statement_sha256": row.statement_hash},
    )  # fmt: skip
    return row.id


def own_take_aways(act: Act) -> tuple[TakenAway, ...]:
    """Return the actor's take-aways, newest first, with two statements."""
    rows = act.session.execute(
        select(TakeAway, TakeAwayRevocation.revoked_at)
        .outerjoin(TakeAwayRevocation, TakeAwayRevocation.take_away_id == TakeAway.id)
        .where(TakeAway.person_id == act.actor.person_id)
        .order_by(TakeAway.made_at.desc(), TakeAway.id)
    ).all()
    counted = act.session.execute(
        select(TakeAwayLook.take_away_id, func.count(), func.max(TakeAwayLook.looked_at))
        .where(TakeAwayLook.take_away_id.in_([row.id for row, _ in rows]))
        .group_by(TakeAwayLook.take_away_id)
    )
    looks = {key: (count, last) for key, count, last in counted}
    return tuple(_line(row, revoked_at, looks.get(row.id, (0, None))) for row, revoked_at in rows)


def own_take_away(act: Act, take_away_id: str) -> OwnTakeAway:
    """Return one of the actor's own; raises NotFound for any other."""
    row = _own(act, take_away_id)
    revocation = act.session.get(TakeAwayRevocation, row.id)
    looks = tuple(
        Look(looked_at=one.looked_at, how=one.how, told=one.told)
        for one in act.session.scalars(
            select(TakeAwayLook)
            .where(TakeAwayLook.take_away_id == row.id)
            .order_by(TakeAwayLook.looked_at.desc(), TakeAwayLook.id)
            .limit(MOST_LOOKS)
        )
    )
    seq, digest = act.session.execute(
        select(AuditRow.seq, AuditRow.hash).where(
            AuditRow.object_id == row.id, AuditRow.event == AuditEvent.EVIDENCE_TAKEN_AWAY.value
        )
    ).one()
    last = looks[0].looked_at if looks else None
    return OwnTakeAway(
        line=_line(row, revocation.revoked_at if revocation else None, (len(looks), last)),
        statement=json.loads(row.statement),
        statement_text=row.statement,
        statement_hash=row.statement_hash,
        audit_seq=seq,
        audit_hash=digest.hex(),
        looks=looks,
    )


def revoke_take_away(act: Act, take_away_id: str) -> None:
    """Revoke one's own take-away: whoever enters its code is told only that. Raises NotFound, Conflict if it was."""
    act.session.get(TakeAway, take_away_id, with_for_update=True)
    row = _own(act, take_away_id)
    if act.session.get(TakeAwayRevocation, row.id) is not None:
        raise Conflict("This was revoked already. Nothing was changed.")
    act.session.add(TakeAwayRevocation(take_away_id=row.id, revoked_at=act.now))
    record(act, AuditEvent.TAKE_AWAY_REVOKED, OBJECT, row.id, person_id=row.person_id, thing="own evidence")


def _own(act: Act, take_away_id: str) -> TakeAway:
    row = act.session.get(TakeAway, take_away_id)
    if row is None or row.person_id != act.actor.person_id:
        raise NotFound("There is no such evidence of yours.")
    return row


def _line(row: TakeAway, revoked_at: datetime | None, looks: tuple[int, datetime | None]) -> TakenAway:
    return TakenAway(
        id=row.id,
        code=written(row.code),
        made_at=row.made_at,
        revoked_at=revoked_at,
        look_count=looks[0],
        last_look_at=looks[1],
    )
