"""What can be recorded about a person's standing besides decisions on competencies."""

from __future__ import annotations

from enum import StrEnum


class StandingEventKind(StrEnum):
    """A suspension, a withdrawal, a pause for leave, or a restriction of the whole person."""

    SUSPENDED = "suspended"
    WITHDRAWN = "withdrawn"
    PAUSED = "paused"
    RESTRICTED = "restricted"
