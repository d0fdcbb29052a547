"""Content as it stands in the checkout, accepted for sign-off in a test's service."""

from __future__ import annotations

from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentAcceptance


def accept_everything(act: Act, library: Library) -> None:
    """Accept every family and procedure, as a clinical lead would one by one."""
    kinds = (("family", library.families), ("procedure", library.procedures))
    for kind, contents in kinds:
        for content in contents.values():
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
