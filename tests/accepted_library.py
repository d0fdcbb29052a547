"""Content as it stands in the checkout, accepted for sign-off in a test's service."""

from __future__ import annotations

from collections.abc import Collection

from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentAcceptance


def accept(act: Act, library: Library, families: Collection[str]) -> None:
    """Accept these families and every procedure, as a clinical lead would one by one."""
    accepted = [library.family(code) for code in families]
    for kind, contents in (("family", accepted), ("procedure", library.procedures.values())):
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
