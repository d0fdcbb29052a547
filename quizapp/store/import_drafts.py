"""Files that were checked and wait to be taken over; at most one of each kind for each person, removed afterwards."""

from __future__ import annotations

from sqlalchemy import LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Line, Moment, PersonId
from quizapp.store.model import Record


class ImportDraft(Record):
    """One checked file with who brought it and, for sign-offs, the second person named."""

    __tablename__ = "import_draft"
    __table_args__ = (UniqueConstraint("kind", "made_by"),)

    id: Mapped[Id]
    kind: Mapped[Code]
    file_name: Mapped[Line]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    second_by: Mapped[str | None] = mapped_column(String(32))
    made_by: Mapped[PersonId]
    made_at: Mapped[Moment]
