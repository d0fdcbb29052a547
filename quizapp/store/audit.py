"""The audit chain and the signatures: append-only, refused by triggers as well as by the code."""

from __future__ import annotations

from sqlalchemy import Integer, LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import UtcDateTime
from quizapp.store.model import Record


class AuditRow(Record):
    """One act: who, when, what; `body` is the exact bytes that were hashed onto the chain."""

    __tablename__ = "audit"
    __table_args__ = ({"sqlite_strict": True},)

    seq: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    at = mapped_column(UtcDateTime, nullable=False)
    actor_id: Mapped[str] = mapped_column(Text, index=True)
    event: Mapped[str] = mapped_column(Text, index=True)
    object_type: Mapped[str] = mapped_column(Text)
    object_id: Mapped[str] = mapped_column(Text, index=True)
    body: Mapped[bytes] = mapped_column(LargeBinary)
    prev: Mapped[bytes] = mapped_column(LargeBinary, unique=True)
    hash: Mapped[bytes] = mapped_column(LargeBinary)


class AuditHead(Record):
    """The newest link of the chain; the row every writer locks last."""

    __tablename__ = "audit_head"

    chain: Mapped[str] = mapped_column(String(32), primary_key=True)
    seq: Mapped[int]
    hash: Mapped[bytes] = mapped_column(LargeBinary)


class Signature(Record):
    """An electronic signature: the bytes that were shown, what signing meant, and who signed as what."""

    __tablename__ = "signature"
    __table_args__ = ({"sqlite_strict": True},)

    id: Mapped[str] = mapped_column(Text, primary_key=True)
    record_type: Mapped[str] = mapped_column(Text)
    record_id: Mapped[str] = mapped_column(Text, index=True)
    record_hash: Mapped[str] = mapped_column(Text)
    shown: Mapped[bytes] = mapped_column(LargeBinary)
    meaning: Mapped[str] = mapped_column(Text)
    meaning_text: Mapped[str] = mapped_column(Text)
    person_id: Mapped[str] = mapped_column(Text, index=True)
    printed_name: Mapped[str] = mapped_column(Text)
    staff_number: Mapped[str] = mapped_column(Text)
    role: Mapped[str] = mapped_column(Text)
    base_id: Mapped[str] = mapped_column(Text)
    signed_at = mapped_column(UtcDateTime, nullable=False)
    zone: Mapped[str] = mapped_column(Text)
    local_time: Mapped[str] = mapped_column(Text)
    how: Mapped[str] = mapped_column(Text)
    signature_hash: Mapped[str] = mapped_column(Text)
