"""Which content counts for sign-off today: accepted by a clinical lead as these very bytes, and not withdrawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from sqlalchemy import select

from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentAcceptance, ContentWithdrawal


class ContentFile(Protocol):
    """A family, procedure or device profile as read from its file."""

    @property
    def code(self) -> str:
        """The code people know it by."""
        ...

    @property
    def content_hash(self) -> str:
        """The hash of its exact bytes."""
        ...


@dataclass(frozen=True, kw_only=True)
class ContentInForce:
    """What was accepted and what is withdrawn, as (code, content hash) and for whole files as codes."""

    accepted: frozenset[tuple[str, str]]
    withdrawn: frozenset[tuple[str, str]]

    def counts(self, content: ContentFile) -> bool:
        """Whether a sitting or observation with this content may count for sign-off."""
        return (content.code, content.content_hash) in self.accepted and not self.is_withdrawn(content)

    def is_withdrawn(self, content: ContentFile) -> bool:
        """Whether nobody may be asked this content."""
        return (content.code, content.content_hash) in self.withdrawn


def content_in_force(act: Act) -> ContentInForce:
    """Return what is in force, with two statements whatever the amount of content."""
    accepted = act.session.execute(
        select(ContentAcceptance.code, ContentAcceptance.content_hash).where(ContentAcceptance.withdrawn_at.is_(None))
    )
    withdrawn = act.session.execute(
        select(ContentWithdrawal.code, ContentWithdrawal.content_hash).where(
            ContentWithdrawal.lifted_at.is_(None), ContentWithdrawal.step == ""
        )
    )
    return ContentInForce(
        accepted=frozenset((code, content_hash) for code, content_hash in accepted),
        withdrawn=frozenset((code, content_hash) for code, content_hash in withdrawn),
    )
