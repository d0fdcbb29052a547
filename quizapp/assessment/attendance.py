"""What became of a place once its day was there."""

from __future__ import annotations

from enum import StrEnum


class Attendance(StrEnum):
    """Whether somebody came. Excused: said beforehand or called away; it counts for and against nothing."""

    CAME = "came"
    EXCUSED = "excused"
    DID_NOT_COME = "did_not_come"

    @property
    def words(self) -> str:
        """As people say it."""
        return self.value.replace("_", " ")
