"""A competency: what somebody who is signed off can do, and which errors show that they cannot."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Competency:
    """One competency of the framework. A lapsed critical one makes the person lapsed.

    valid_months: how long a sign-off lasts (1 to 60). practise_months: the practice interval (1 to 60), which
    never lapses anybody. is_discussed: a structured discussion may be evidence too.
    """

    code: str
    title: str
    behaviours: tuple[str, ...]
    critical_errors: tuple[str, ...]
    is_critical: bool
    valid_months: int
    practise_months: int
    is_discussed: bool
