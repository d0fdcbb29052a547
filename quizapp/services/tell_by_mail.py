"""Says by mail that there is a message, never what it says; written with the message, or not at all."""

from __future__ import annotations

from collections.abc import Sequence

from quizapp.assessment.notices import NoticeKind
from quizapp.services.act import Act
from quizapp.services.write_notices import NoticeWanted, write_notices
from quizapp.store.challenges import Message


def tell_by_mail(act: Act, messages: Sequence[Message]) -> None:
    """Put a notice for each message into the outbox."""
    write_notices(
        act,
        [
            NoticeWanted(
                person_id=one.person_id,
                kind=NoticeKind.MESSAGE,
                once_key=f"message {one.id}",
                subject="A message is waiting for you",
                body="A message is waiting for you on your first page.",
            )
            for one in messages
        ],
    )
