"""Keeps a checked file until its owner confirms it, for an hour; then it is gone, since it holds personal data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from sqlalchemy import delete, select

from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.store.import_drafts import ImportDraft

KEPT_FOR = timedelta(hours=1)
SIGNED_KEPT_FOR = timedelta(days=14)
LONGEST_NAME = 100


class DraftKind(StrEnum):
    """What a waiting file holds."""

    PEOPLE = "people"
    SIGN_OFFS = "sign_offs"
    CREWS = "crews"


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A file that was checked and waits."""

    id: str
    file_name: str
    content: bytes
    second_by: str


def keep_draft(act: Act, kind: DraftKind, *, file_name: str, content: bytes, second_by: str = "") -> str:
    """Keep a file for its owner instead of an earlier one of the same kind; return its id. Old ones are removed.

    A list that its owner signed waits longer, for the second person (see `recognise_sign_offs`).
    """
    mine = (ImportDraft.made_by == act.actor.person_id) & (ImportDraft.kind == kind.value)
    unsigned = ImportDraft.signed_at.is_(None) & (mine | (ImportDraft.made_at < act.now - KEPT_FOR))
    waited_too_long = ImportDraft.signed_at < act.now - SIGNED_KEPT_FOR
    act.session.execute(delete(ImportDraft).where(unsigned | waited_too_long))
    draft = ImportDraft(
        id=act.randomness.new_id(),
        kind=kind.value,
        file_name=file_name[-LONGEST_NAME:],
        content=content,
        second_by=second_by or None,
        made_by=act.actor.person_id,
        made_at=act.now,
        signature_id=None,
        signed_at=None,
    )
    act.session.add(draft)
    return draft.id


def own_draft(act: Act, kind: DraftKind, draft_id: str) -> Draft:
    """Return one's own waiting file; raise NotFound when there is none, or it is older than an hour."""
    draft = act.session.scalar(
        select(ImportDraft).where(
            ImportDraft.id == draft_id,
            ImportDraft.kind == kind.value,
            ImportDraft.made_by == act.actor.person_id,
            ImportDraft.made_at >= act.now - KEPT_FOR,
            ImportDraft.signed_at.is_(None),
        )
    )
    if draft is None:
        raise NotFound("This file is not waiting any more. Nothing was changed. Check it once more to take it over.")
    return Draft(id=draft.id, file_name=draft.file_name, content=draft.content, second_by=draft.second_by or "")


def drop_draft(act: Act, draft_id: str) -> None:
    """Remove a file that was taken over."""
    act.session.execute(delete(ImportDraft).where(ImportDraft.id == draft_id))
