"""Files that were checked and wait to be taken over; at most one unsigned of a kind for each person; then removed."""

from __future__ import annotations

from sqlalchemy import Index, LargeBinary, String, text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import Code, Id, Line, MaybeMoment, Moment, PersonId
from quizapp.store.model import Record


class ImportDraft(Record):
    """One checked file with who brought it and, for sign-offs, the second person named, who signs after the first."""

    __tablename__ = "import_draft"
    __table_args__ = (
        Index("uq_import_draft_unsigned", "kind", "made_by", unique=True, sqlite_where=text("signed_at IS NULL"),
              postgresql_where=text("signed_at IS NULL")),
    )  # fmt: skip

    id: Mapped[Id]
    kind: Mapped[Code]
    file_name: Mapped[Line]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    second_by: Mapped[str | None] = mapped_column(String(32))
    made_by: Mapped[PersonId]
    made_at: Mapped[Moment]
    signature_id: Mapped[str | None] = mapped_column(String(32))
    signed_at: Mapped[MaybeMoment]
