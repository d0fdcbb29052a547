"""Content as it stands in the checkout, accepted for sign-off in a test's service."""

from __future__ import annotations

from collections.abc import Collection

from quizapp.assessment.families import FamilyKind
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentAcceptance


def accept_everything(act: Act, library: Library, *, kinds: Collection[FamilyKind] = tuple(FamilyKind)) -> None:
    """Accept every family (of these kinds) and every procedure, as a clinical lead would one by one."""
    families = [family for family in library.families.values() if family.kind in kinds]
    for kind, contents in (("family", families), ("procedure", library.procedures.values())):
        for content in contents:
            act.session.add(
                ContentAcceptance(
                    id=act.randomness.new_id(),
                    kind=kind,
                    code=content.code,
                    content_hash=content.content_hash,
                    accepted_by=act.actor.person_id,
                    accepted_at=act.now,
                    local_changes="",
                )
            )
    act.session.flush()
