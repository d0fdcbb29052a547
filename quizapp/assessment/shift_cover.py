"""Whether somebody current is on a shift at every minute of it: spans of time in, the fewest at once and the gaps out.

Spans are aware UTC and half-open, so a night, a change of the clock and a handover at the minute need no special case.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

STALE_AFTER_DAYS = 28
"""Rosters are commonly made for a month (common practice, no source): what is older was not looked at again."""


@dataclass(frozen=True, order=True)
class Span:
    """From one moment until another, the second no longer inside; both aware."""

    start: datetime
    end: datetime

    def meets(self, other: Span) -> bool:
        """Whether the two have a moment in common."""
        return self.start < other.end and other.start < self.end

    def within(self, other: Span) -> Span | None:
        """Give the part that lies inside the other, or None."""
        return Span(max(self.start, other.start), min(self.end, other.end)) if self.meets(other) else None


class CoverState(StrEnum):
    """How a shift is covered: by two or more at every minute, by one at some minute, or by nobody at some minute."""

    COVERED = "covered"
    THIN = "thin"
    NONE = "none"

    @property
    def words(self) -> str:
        """The state in a few words."""
        return {"covered": "covered", "thin": "thin: one current", "none": "nobody current"}[self.value]


@dataclass(frozen=True, kw_only=True)
class Cover:
    """The fewest current people at once on a shift, and the parts of it with nobody."""

    state: CoverState
    fewest: int
    gaps: tuple[Span, ...]

    def is_whole_gap(self, shift: Span) -> bool:
        """Whether nobody is current at any minute of the shift."""
        return self.gaps == (shift,)


def cover(shift: Span, current: Iterable[Span]) -> Cover:
    """Work out how a shift is covered by the spans in which somebody current is on it; each span counts one person.

    Raises ValueError for a shift that does not end after it starts.
    """
    if shift.end <= shift.start:
        raise ValueError("a shift ends after it starts")
    inside = [part for one in current if (part := one.within(shift)) is not None]
    moments = sorted({shift.start, shift.end, *(one.start for one in inside), *(one.end for one in inside)})
    counts = [
        (Span(start, end), sum(one.start <= start < one.end for one in inside)) for start, end in pairwise(moments)
    ]
    fewest = min(count for _, count in counts)
    state = CoverState.NONE if fewest == 0 else CoverState.THIN if fewest == 1 else CoverState.COVERED
    return Cover(state=state, fewest=fewest, gaps=joined_spans(part for part, count in counts if count == 0))


def joined_spans(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Join spans that touch, in order of time."""
    joined: list[Span] = []
    for one in sorted(spans):
        if joined and joined[-1].end >= one.start:
            joined[-1] = Span(joined[-1].start, max(joined[-1].end, one.end))
        else:
            joined.append(one)
    return tuple(joined)


def is_stale(confirmed_at: datetime, now: datetime) -> bool:
    """Whether a shift was last in a roster, or entered by hand, so long ago that it should be looked at again."""
    return now - confirmed_at > timedelta(days=STALE_AFTER_DAYS)
