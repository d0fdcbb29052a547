"""The few errors every layer may raise; each message says what happened, what was kept and what to do next."""

from __future__ import annotations

from dataclasses import dataclass


class QuizappError(Exception):
    """Base of all expected errors; the edge turns each kind into its own page or exit status."""


class NotFound(QuizappError):
    """No such thing, or not a thing this person may know of (the edge answers 404 for both)."""


class NotAllowed(QuizappError):
    """The person may not do this act (the edge answers 403)."""


class Conflict(QuizappError):
    """The record changed meanwhile or the act does not fit its state (the edge answers 409)."""


class Busy(QuizappError):
    """Too many wait to write; nothing was stored (the edge answers 503 and asks to try again in a moment)."""


class TooSoon(QuizappError):
    """Too many tries in a short time; nothing was looked at (the edge answers 429 and says how long to wait)."""

    def __init__(self, *, wait_s: int) -> None:
        super().__init__(f"Too many tries. Nothing was looked up. Wait {wait_s} seconds, then try again.")
        self.wait_s = wait_s


class BadInput(QuizappError):
    """A value that cannot be read; nothing was stored (the edge answers 422 and keeps the text).

    `field` names the form field, or "" for the whole form.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, kw_only=True, order=True)
class ContentFault:
    """One fault in a content or roster file.

    `path` is relative to the content folder, `line` counts from 1 (0: the whole file),
    `level` is "error" (refuses the file) or "warning".
    """

    path: str
    line: int
    message: str
    level: str = "error"

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.level}: {self.message}"


class ContentFaults(QuizappError):
    """All faults of a content folder or an import file at once; nothing was taken over."""

    def __init__(self, faults: list[ContentFault]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = sorted(faults)
