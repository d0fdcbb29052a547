"""Puts a backup in the place of the database: checked first, the loss stated, the old one kept, the act audited."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import update

from quizapp.assessment.audit_chain import ChainHead, JsonValue
from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import Conflict
from quizapp.services.audit_trail import CHAIN, SYSTEM, append
from quizapp.services.take_backup import file_of, sha256_of
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.services.verify_records import verify_records, verify_signatures
from quizapp.store.accounts import AccountInvitation, SessionRow
from quizapp.store.backup import (
    FileState,
    acts_after,
    back_up,
    last_common_row,
    put_in_place,
    state_of,
    take_out_of_use,
)
from quizapp.store.columns import STORED_TIME
from quizapp.store.database import Database
from quizapp.store.schema import known_revisions, migrate, newest_revision


@dataclass(frozen=True, kw_only=True)
class Loss:
    """What a restore gives up: rows of the audit trail, minutes from the last act kept to the last one made."""

    rows: int
    minutes: int
    acts: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class RestorePlan:
    """A backup fit to be restored, the head of the database in place, and the loss (None: it cannot be read)."""

    file: Path
    backup: FileState
    place: Path
    old_head: ChainHead | None
    loss: Loss | None
    why_unknown: str


def plan_restore(url: str, file: Path) -> RestorePlan:
    """Check a backup and say what restoring it would give up; nothing is changed.

    Raises Conflict when the backup is not sound, was tampered with, or was written by a newer program.
    """
    place = file_of(url)
    backup = state_of(file)
    if backup.revision not in known_revisions():
        raise Conflict(
            f"{file} has the schema {backup.revision}, which is newer than this program. Nothing was changed. "
            "Restore it with the program that made it, or a newer one."
        )
    if backup.revision == newest_revision():
        _refuse_tampered(file)
    if not place.exists():
        return RestorePlan(file=file, backup=backup, place=place, old_head=None,
                           loss=Loss(rows=0, minutes=0), why_unknown="")  # fmt: skip
    try:
        current = state_of(place)
    except Conflict as fault:
        return RestorePlan(file=file, backup=backup, place=place, old_head=None, loss=None, why_unknown=str(fault))
    return RestorePlan(file=file, backup=backup, place=place, old_head=current.head,
                       loss=_loss(file, place, current), why_unknown="")  # fmt: skip


def _refuse_tampered(file: Path) -> None:
    database = Database(f"sqlite:///{file}", read_only=True)
    try:
        with database.reading() as session:
            chain = verify_stored_chain(session)
            faults = [
                *chain.faults,
                *verify_records(session, chain.seals)[1],
                *verify_signatures(session, chain.seals)[1],
            ]
    finally:
        database.close()
    if faults:
        raise Conflict(
            f"{file} was tampered with: {faults[0].message} {len(faults)} faults in all. Nothing was changed. "
            "Take an earlier backup, and keep this one as it is."
        )


def _loss(file: Path, place: Path, current: FileState) -> Loss:
    common = last_common_row(place, file)
    acts, kept_until = acts_after(place, common)
    if not acts:
        return Loss(rows=0, minutes=0)
    first = kept_until or acts_after(place, 0)[1] or current.last_at
    minutes = (_moment(current.last_at) - _moment(first)).total_seconds() / 60
    return Loss(rows=sum(acts.values()), minutes=max(0, round(minutes)), acts=acts)


def _moment(text: str) -> datetime:
    return datetime.strptime(text, STORED_TIME).replace(tzinfo=UTC)


def restore(plan: RestorePlan, now: datetime) -> Path | None:
    """Put the backup in place and return where the database that stood there is kept (None: there was none).

    Sessions and unused codes of the backup end, since they may have been ended after it was taken. Raises Conflict
    when another program has the database open; nothing is changed then.
    """
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    prepared = plan.place.with_name(f"{plan.place.name}.restoring")
    aside = plan.place.with_name(f"{plan.place.name}.before-restore-{stamp}")
    if plan.place.exists() and aside.exists():
        raise Conflict(f"{aside} is there already. Nothing was changed. Try again in a second.")
    plan.place.parent.mkdir(parents=True, exist_ok=True)
    prepared.unlink(missing_ok=True)
    try:
        back_up(plan.file, prepared)
        _prepare(prepared, plan, now)
        if plan.place.exists() and plan.loss is not None:
            take_out_of_use(plan.place)
        was_there = plan.place.exists()
        put_in_place(prepared, plan.place, aside)
    finally:
        prepared.unlink(missing_ok=True)
    return aside if was_there else None


def _prepare(prepared: Path, plan: RestorePlan, now: datetime) -> None:
    database = Database(f"sqlite:///{prepared}")
    try:
        migrate(database, keep_backup=False)
        with database.writing() as session:
            running, unused = SessionRow.ended_at.is_(None), AccountInvitation.used_at.is_(None)
            session.execute(update(SessionRow).where(running).values(ended_at=now))
            session.execute(update(AccountInvitation).where(unused).values(used_at=now))
            append(
                session, now, actor_id=SYSTEM, event=AuditEvent.RESTORED, object_type="chain", object_id=CHAIN,
                details={
                    "thing": f"a backup that ends at row {plan.backup.head.seq}", "sha256": sha256_of(plan.file),
                    "old_head": _head(plan.old_head), "new_head": _head(plan.backup.head),
                },
            )  # fmt: skip
    finally:
        database.close()
    take_out_of_use(prepared)
    _refuse_tampered(prepared)


def _head(head: ChainHead | None) -> JsonValue:
    return None if head is None else {"seq": head.seq, "hash": head.hash.hex()}
