"""What can be decided about two sheets of one performance, and which of them may then count."""

from __future__ import annotations

from enum import StrEnum


class Settlement(StrEnum):
    """What a person decided after looking at both sheets."""

    BOTH_STAND = "both_stand"
    ONE_STANDS = "one_stands"
    OBSERVE_AGAIN = "observe_again"

    @property
    def words(self) -> str:
        """The decision as it is shown."""
        return _WORDS[self]


_WORDS = {
    Settlement.BOTH_STAND: "both sheets stand",
    Settlement.ONE_STANDS: "one sheet stands",
    Settlement.OBSERVE_AGAIN: "neither counts; the performance is observed again by a third assessor",
}
