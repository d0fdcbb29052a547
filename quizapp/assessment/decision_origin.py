"""Where a decision comes from."""

from __future__ import annotations

from enum import StrEnum


class DecisionOrigin(StrEnum):
    """Decided here on evidence, or recognised as decided elsewhere; the latter is marked wherever it is shown."""

    DECIDED_HERE = "decided_here"
    RECOGNISED = "recognised"

    @property
    def words(self) -> str:
        """The origin as people say it."""
        return "recognised on outside evidence" if self is DecisionOrigin.RECOGNISED else "decided here"
