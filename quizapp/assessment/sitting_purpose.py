"""What a sitting is for."""

from __future__ import annotations

from enum import StrEnum


class SittingPurpose(StrEnum):
    """An assessment counts towards sign-off; a practice has no consequences."""

    ASSESSMENT = "assessment"
    PRACTICE = "practice"
