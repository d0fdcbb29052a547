"""What is stored: one file per thing, with column types, triggers and migrations."""

from quizapp.store import (
    accepted_content,
    accounts,
    assessments,
    audit,
    competence,
    decisions,
    devices,
    evidence,
    import_drafts,
    observations,
    people,
    receipts,
    record_seals,
    rehearsals,
    roles,
    sittings,
    standards,
)
from quizapp.store.model import Record

__all__ = [
    "Record",
    "accepted_content",
    "accounts",
    "assessments",
    "audit",
    "competence",
    "decisions",
    "devices",
    "evidence",
    "import_drafts",
    "observations",
    "people",
    "receipts",
    "record_seals",
    "rehearsals",
    "roles",
    "sittings",
    "standards",
]
