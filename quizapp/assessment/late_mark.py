"""What a person can decide about a mark that came for a sheet already closed."""

from __future__ import annotations

from enum import StrEnum


class LateOutcome(StrEnum):
    """Left out for good, or taken in, which opens the sheet again until both people have looked once more."""

    LEFT_OUT = "left_out"
    TAKEN_IN = "taken_in"

    @property
    def words(self) -> str:
        """The decision as it is shown."""
        return _WORDS[self]


_WORDS = {
    LateOutcome.LEFT_OUT: "left out; the sheet stands as it was locked",
    LateOutcome.TAKEN_IN: "taken in; the sheet was opened again to be looked at by both",
}
