"""Sign-offs given elsewhere are recognised by two people who each see the list and sign it with their own password.

The first signs and names the second; until the second signs nothing counts. Either may leave it.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import ColumnElement, delete, select

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import Conflict, ContentFaults, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.import_drafts import SIGNED_KEPT_FOR, DraftKind, own_draft
from quizapp.services.import_sign_offs import SignOffPlan, may_recognise, plan_sign_offs, take_over
from quizapp.services.sign_in import actor_of
from quizapp.services.signing import Meaning, prepare_to_sign, sign
from quizapp.store.audit import Signature
from quizapp.store.import_drafts import ImportDraft
from quizapp.store.people import Person

RECORD_TYPE = "recognised_sign_offs"
FIRST = "I have seen what these sign-offs rest on and recognise them, once the second person named here signs as well."
SECOND = "I have seen what these sign-offs rest on and recognise them, as the second of two people."
CHANGED = "The list changed since it was shown. Nothing was signed. Look at it again, then sign."


@dataclass(frozen=True, kw_only=True)
class SignOffsToSign:
    """A list before somebody who is about to sign it: what would be recognised, by whom, and the exact bytes' hash."""

    id: str
    file_name: str
    plan: SignOffPlan
    first: str
    second: str
    meaning: str
    shown_hash: str


@dataclass(frozen=True, kw_only=True)
class WaitingList:
    """A list that the first person signed and that waits for the second."""

    id: str
    file_name: str
    first: str
    signed_at: datetime


def to_sign_first(act: Act, library: Library, draft_id: str) -> SignOffsToSign:
    """Return one's own checked list before one signs it; raises NotFound when it does not wait any more."""
    own = own_draft(act, DraftKind.SIGN_OFFS, draft_id)
    return _to_sign(act, library, act.session.get_one(ImportDraft, own.id), meaning=FIRST)


def to_sign_second(act: Act, library: Library, draft_id: str) -> SignOffsToSign:
    """Return a list one was named for as the second person; raises NotFound for anybody else."""
    return _to_sign(act, library, _signed_draft(act, draft_id), meaning=SECOND)


def _signed_draft(act: Act, draft_id: str, *, to_change: bool = False) -> ImportDraft:
    wanted = select(ImportDraft).where(*_waits_for(act), ImportDraft.id == draft_id)
    row = act.session.scalar(wanted.with_for_update() if to_change else wanted)
    if row is None:
        raise NotFound("No list waits here for you. It was signed, left, or is older than 14 days.")
    return row


def _waits_for(act: Act) -> tuple[ColumnElement[bool], ...]:
    return (
        ImportDraft.kind == DraftKind.SIGN_OFFS.value,
        ImportDraft.second_by == act.actor.person_id,
        ImportDraft.signed_at >= act.now - SIGNED_KEPT_FOR,
    )


def sign_offs_waiting(act: Act) -> list[WaitingList]:
    """Return the lists that wait for the actor as the second person, the oldest first."""
    rows = act.session.execute(
        select(ImportDraft.id, ImportDraft.file_name, Person.name, ImportDraft.signed_at)
        .join(Person, Person.id == ImportDraft.made_by)
        .where(*_waits_for(act))
        .order_by(ImportDraft.signed_at)
    )
    return [
        WaitingList(id=draft_id, file_name=file_name, first=name, signed_at=signed_at)
        for draft_id, file_name, name, signed_at in rows
        if signed_at is not None
    ]


def _to_sign(act: Act, library: Library, row: ImportDraft, *, meaning: str) -> SignOffsToSign:
    first = replace(act, actor=actor_of(act.session, row.made_by))
    second_by = row.second_by or ""
    plan = plan_sign_offs(first, library, content=row.content, path=row.file_name, second_by=second_by)
    names = [act.session.get_one(Person, one).name for one in (row.made_by, second_by)]
    statement = _statement(row, plan, names, meaning)
    return SignOffsToSign(
        id=row.id,
        file_name=row.file_name,
        plan=plan,
        first=names[0],
        second=names[1],
        meaning=meaning,
        shown_hash=hashlib.sha256(canonical_bytes(statement)).hexdigest(),
    )


def _statement(row: ImportDraft, plan: SignOffPlan, names: list[str], meaning: str) -> dict[str, JsonValue]:
    return {
        "list": row.id,
        "file": row.file_name,
        "file_hash": hashlib.sha256(row.content).hexdigest(),
        "first": names[0],
        "second": names[1],
        "meaning": meaning,
        "sign_offs": [
            {
                "person_id": one.person_id,
                "person": f"{one.person_name}, {one.row.staff_number}",
                "competency": one.row.competency,
                "device": f"{one.row.profile} revision {one.row.revision}",
                "signed_on": one.row.signed_on.isoformat(),
                "last_valid_day": one.row.last_valid_day.isoformat(),
                "reason": one.row.reason,
            }
            for one in plan.new
        ],
    }


def sign_as_first(act: Act, library: Library, draft_id: str, *, shown_hash: str, password: str) -> str:
    """Sign one's own list, which then waits for the second person; return its id.

    Raises Conflict when it changed since it was shown, BadInput for a wrong password, ContentFaults.
    """
    looked_at = to_sign_first(act, library, draft_id)
    row = act.session.get_one(ImportDraft, looked_at.id)
    signature = _sign(act, row, looked_at, shown_hash=shown_hash, password=password)
    row.signature_id, row.signed_at = signature.id, act.now
    record(act, AuditEvent.SIGN_OFFS_PROPOSED, "import_draft", row.id, thing=f"{len(looked_at.plan.new)} sign-offs",
           after={"signature": signature.id, "second": row.second_by or ""})  # fmt: skip
    return row.id


def sign_as_second(act: Act, library: Library, draft_id: str, *, shown_hash: str, password: str) -> SignOffPlan:
    """Sign a list as the second person and recognise all of it in one act, or none; return what was recognised.

    Raises Conflict when it changed since it was shown, BadInput for a wrong password, ContentFaults.
    """
    row = _signed_draft(act, draft_id, to_change=True)
    looked_at = to_sign_second(act, library, draft_id)
    if not may_recognise(act.actor, act, None):
        raise Conflict("You may not recognise sign-offs any more. Nothing was signed; the first person names another.")
    signature = _sign(act, row, looked_at, shown_hash=shown_hash, password=password)
    first_id, first_signature, content = row.made_by, row.signature_id, row.content
    act.session.execute(delete(ImportDraft).where(ImportDraft.id == row.id))
    take_over(
        act, looked_at.plan, file_hash=hashlib.sha256(content).hexdigest(), first_id=first_id,
        second_by=act.actor.person_id, signature_ids=(first_signature, signature.id),
    )  # fmt: skip
    return looked_at.plan


def _sign(act: Act, row: ImportDraft, looked_at: SignOffsToSign, *, shown_hash: str, password: str) -> Signature:
    if looked_at.plan.errors:
        raise ContentFaults(list(looked_at.plan.errors))
    if looked_at.shown_hash != shown_hash:
        raise Conflict(CHANGED)
    statement = _statement(row, looked_at.plan, [looked_at.first, looked_at.second], looked_at.meaning)
    intent = prepare_to_sign(act, record_type=RECORD_TYPE, statement=statement)
    person = act.session.get_one(Person, act.actor.person_id)
    is_administrator = act.actor.holds(Role.ADMINISTRATOR, act.today)
    meaning = Meaning(
        word="recognises",
        sentence=looked_at.meaning,
        role=Role.ADMINISTRATOR if is_administrator else Role.EDUCATOR,
        base_id=person.base_id,
    )
    return sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=row.id, meaning=meaning)


def leave_list(act: Act, draft_id: str) -> None:
    """Give a signed list up, as the one who brought it or the second person; nothing of it counts."""
    row = act.session.get(ImportDraft, draft_id)
    if row is None or row.signed_at is None or act.actor.person_id not in {row.made_by, row.second_by}:
        raise NotFound("No list waits here for you. It was signed, left, or is older than 14 days.")
    act.session.execute(delete(ImportDraft).where(ImportDraft.id == draft_id))
    record(act, AuditEvent.SIGN_OFFS_LEFT, "import_draft", draft_id, thing="nothing of it counts")
