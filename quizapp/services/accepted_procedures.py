"""Whether a clinical lead has accepted the exact bytes of a procedure for sign-off, and not withdrawn them since."""

from __future__ import annotations

from sqlalchemy import select

from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentAcceptance


def is_accepted(act: Act, *, code: str, content_hash: str) -> bool:
    """Tell whether this procedure, with this content hash, counts for sign-off today."""
    found = act.session.scalar(
        select(ContentAcceptance.id).where(
            ContentAcceptance.code == code,
            ContentAcceptance.content_hash == content_hash,
            ContentAcceptance.withdrawn_at.is_(None),
        )
    )
    return found is not None
