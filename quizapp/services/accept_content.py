"""A clinical lead accepts exact bytes of content for sign-off; an educator withdraws a file or a step in one act."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.person_rules import Denied, may_accept_content
from quizapp.content.family_draws import release_fault
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record, record_many
from quizapp.services.content_items import ContentItem, ContentKind, content_items
from quizapp.services.require_right import require_right
from quizapp.store.accepted_content import ContentAcceptance, ContentWithdrawal
from quizapp.store.people import Person

SHORTEST_REASON = 10
LONGEST_TEXT = 1000


@dataclass(frozen=True, kw_only=True)
class ContentState:
    """One item of the folder with who accepted these bytes, if anybody did, and what of it is withdrawn.

    `is_own`: the actor wrote it, so that somebody else has to accept it.
    """

    item: ContentItem
    accepted_by: str
    accepted_at: datetime | None
    local_changes: str
    accepted_before: bool
    is_own: bool
    withdrawals: tuple[ContentWithdrawal, ...]

    @property
    def is_withdrawn(self) -> bool:
        """Whether the whole file is withdrawn."""
        return any(one.step == "" for one in self.withdrawals)

    def withdrawal(self, withdrawal_id: str) -> ContentWithdrawal:
        """Return one withdrawal in force; raise NotFound where there is none."""
        for one in self.withdrawals:
            if one.id == withdrawal_id:
                return one
        raise NotFound("There is no such withdrawal.")


def accepted_hashes(session: Session) -> frozenset[str]:
    """Return the hashes of all content accepted for sign-off and not withdrawn, with one statement."""
    in_force = select(ContentAcceptance.content_hash).where(ContentAcceptance.withdrawn_at.is_(None))
    return frozenset(session.scalars(in_force))


def content_states(act: Act, library: Library) -> tuple[ContentState, ...]:
    """Return every item of the folder with its state, with three statements."""
    accepted = act.session.execute(
        select(ContentAcceptance, Person.name).join(Person, Person.id == ContentAcceptance.accepted_by)
    ).all()
    in_force = {(row.code, row.content_hash): (row, name) for row, name in accepted if row.withdrawn_at is None}
    known_codes = {row.code for row, _ in accepted}
    withdrawn = act.session.scalars(select(ContentWithdrawal).where(ContentWithdrawal.lifted_at.is_(None))).all()
    own = _own_staff_number(act)
    states = []
    for item in content_items(library):
        row, name = in_force.get((item.code, item.content_hash), (None, ""))
        state = ContentState(
            item=item,
            accepted_by=name,
            accepted_at=row.accepted_at if row else None,
            local_changes=row.local_changes if row else "",
            accepted_before=item.code in known_codes,
            is_own=own in {number.casefold() for number in item.authors},
            withdrawals=tuple(
                one for one in withdrawn if (one.code, one.content_hash) == (item.code, item.content_hash)
            ),
        )
        states.append(state)
    return tuple(states)


def content_state(act: Act, library: Library, *, kind: str, code: str) -> ContentState:
    """Return one item with its state; raise NotFound where the folder has none."""
    for state in content_states(act, library):
        if (state.item.kind.value, state.item.code) == (kind, code):
            return state
    raise NotFound("There is no such content.")


def _item(library: Library, kind: str, code: str, content_hash: str) -> ContentItem:
    for item in content_items(library):
        if (item.kind.value, item.code) == (kind, code):
            if item.content_hash != content_hash:
                raise Conflict(f"The file of {item.words} changed meanwhile. Nothing was changed. Read it again first.")
            return item
    raise NotFound("There is no such content.")


def accept_content(
    act: Act, library: Library, *, wanted: Sequence[tuple[str, str, str]], local_changes: str
) -> tuple[str, ...]:
    """Accept items, each named by kind, code and content hash, and return the ids of the acceptances.

    `local_changes` says where local procedure differs, "" for nowhere. A withdrawn file is taken back into use by
    accepting it. Raises NotAllowed for what the actor wrote, BadInput for a family that can hardly be asked, and
    Conflict when a file changed since the page was drawn or is accepted already.
    """
    require_right(act, Right.ACCEPT_CONTENT)
    if not wanted:
        raise BadInput("Choose at least one item.", field="items")
    if len(local_changes) > LONGEST_TEXT:
        raise BadInput(f"Keep the local changes within {LONGEST_TEXT} characters.", field="local_changes")
    items = [_item(library, *one) for one in dict.fromkeys(wanted)]
    _refuse_own(act, items)
    known = accepted_hashes(act.session)
    for item in items:
        _refuse_hardly_asked(library, item)
        if item.content_hash in known:
            raise Conflict(f"The {item.words} is accepted already. Nothing was changed. Load the page again.")
    rows = [_acceptance(act, item, local_changes.strip()) for item in items]
    act.session.add_all(rows)
    _lift_whole_files(act, {row.content_hash for row in rows})
    record_many(act, [_entry(row, item) for row, item in zip(rows, items, strict=True)])
    return tuple(row.id for row in rows)


def _acceptance(act: Act, item: ContentItem, local_changes: str) -> ContentAcceptance:
    return ContentAcceptance(
        id=act.randomness.new_id(),
        kind=item.kind.value,
        code=item.code,
        content_hash=item.content_hash,
        accepted_by=act.actor.person_id,
        accepted_at=act.now,
        local_changes=local_changes,
    )


def _entry(row: ContentAcceptance, item: ContentItem) -> Entry:
    return Entry(
        event=AuditEvent.CONTENT_ACCEPTED,
        object_type="content_acceptance",
        object_id=row.id,
        thing=item.words,
        after={"code": item.code, "hash": item.content_hash},
    )


def _own_staff_number(act: Act) -> str:
    return act.session.get_one(Person, act.actor.person_id).staff_number.casefold()


def _refuse_own(act: Act, items: Sequence[ContentItem]) -> None:
    """Nobody accepts what they wrote themselves."""
    own = _own_staff_number(act)
    for item in items:
        wrote = own in {number.casefold() for number in item.authors}
        author_ids = frozenset({act.actor.person_id} if wrote else ())
        verdict = may_accept_content(act.actor, author_ids=author_ids, day=act.today)
        if isinstance(verdict, Denied):
            raise NotAllowed(f"{item.code}: {verdict.reason} Nothing was accepted.")


def _refuse_hardly_asked(library: Library, item: ContentItem) -> None:
    if item.kind is ContentKind.FAMILY:
        fault = release_fault(library.family(item.code), library.profiles)
        if fault:
            raise BadInput(f"{item.code}: {fault}. Nothing was accepted. Its preview says more.", field="items")


def _lift_whole_files(act: Act, hashes: set[str]) -> None:
    in_force = (ContentWithdrawal.lifted_at.is_(None), ContentWithdrawal.step == "")
    for row in act.session.scalars(select(ContentWithdrawal).where(*in_force)):
        if row.content_hash in hashes:
            row.lifted_by, row.lifted_at = act.actor.person_id, act.now


def withdraw_content(
    act: Act, library: Library, *, kind: str, code: str, content_hash: str, step: str, reason: str
) -> str:
    """Withdraw a file, or with `step` one step of a procedure, at once; return the withdrawal's id.

    A whole file loses its acceptance too. What people met before stays as recorded.
    """
    require_right(act, Right.WITHDRAW_CONTENT)
    item = _item(library, kind, code, content_hash)
    if step and step not in item.steps:
        raise BadInput(f"The {item.words} has no step {step}.", field="step")
    if not SHORTEST_REASON <= len(reason.strip()) <= LONGEST_TEXT:
        raise BadInput(f"Say why in {SHORTEST_REASON} to {LONGEST_TEXT} characters.", field="reason")
    _refuse_withdrawn(act, item, step)
    row = ContentWithdrawal(
        id=act.randomness.new_id(),
        kind=item.kind.value,
        code=item.code,
        content_hash=item.content_hash,
        step=step,
        reason=reason.strip(),
        withdrawn_by=act.actor.person_id,
        withdrawn_at=act.now,
        lifted_by=None,
        lifted_at=None,
    )
    act.session.add(row)
    if not step:
        _end_acceptance(act, item, row.reason)
    thing = f"step {step} of {item.words}" if step else item.words
    record(act, AuditEvent.CONTENT_WITHDRAWN, "content_withdrawal", row.id, thing=thing,
           after={"code": item.code, "hash": item.content_hash, "step": step})  # fmt: skip
    return row.id


def _refuse_withdrawn(act: Act, item: ContentItem, step: str) -> None:
    known = select(ContentWithdrawal.id).where(
        ContentWithdrawal.code == item.code,
        ContentWithdrawal.content_hash == item.content_hash,
        ContentWithdrawal.step.in_(["", step]),
        ContentWithdrawal.lifted_at.is_(None),
    )
    if act.session.scalar(known) is not None:
        raise Conflict(f"The {item.words} is withdrawn already. Nothing was changed.")


def _end_acceptance(act: Act, item: ContentItem, reason: str) -> None:
    rows = select(ContentAcceptance).where(
        ContentAcceptance.code == item.code,
        ContentAcceptance.content_hash == item.content_hash,
        ContentAcceptance.withdrawn_at.is_(None),
    )
    for row in act.session.scalars(rows):
        row.withdrawn_at, row.withdrawn_by, row.withdrawal_reason = act.now, act.actor.person_id, reason


def lift_withdrawal(act: Act, *, withdrawal_id: str) -> None:
    """Take a withdrawn step, or a file for practice, back into use; a file counts again once it is accepted again."""
    require_right(act, Right.ACCEPT_CONTENT)
    row = act.session.get(ContentWithdrawal, withdrawal_id)
    if row is None:
        raise NotFound("There is no such withdrawal.")
    if row.lifted_at is not None:
        raise Conflict("This withdrawal was lifted already. Nothing was changed.")
    row.lifted_by, row.lifted_at = act.actor.person_id, act.now
    thing = f"the withdrawal of {ContentKind(row.kind).words} {row.code}{f', step {row.step}' if row.step else ''}"
    record(act, AuditEvent.CONTENT_WITHDRAWN, "content_withdrawal", row.id, thing=thing)
