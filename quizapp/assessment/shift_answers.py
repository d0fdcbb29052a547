"""What can be done about a shift with nobody current, in the order to try it, and what each must say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from quizapp.assessment.shift_cover import Cover, CoverState, Span

SHORTEST_REASON = 10
REST = timedelta(hours=11)
"""Daily rest, Directive 2003/88/EC article 3, from memory; who has less is named last and with the hours."""
LONGEST_RESTRICTION_AFTER = timedelta(days=14)


class AnswerKind(StrEnum):
    """The ways out, in the order to try them; the last member takes one of them back."""

    SWAP = "swap"
    BRING_ASSESSOR = "bring_assessor"
    RESTRICT_DEVICE = "restrict_device"
    ACCEPT = "accept"
    TAKEN_BACK = "taken_back"


class AlertCause(StrEnum):
    """What left a shift without a current person."""

    ROSTER = "roster"
    TIME_OR_RECORD = "time_or_record"

    @property
    def words(self) -> str:
        """The cause in a few words."""
        return {
            "roster": "a change of the crews",
            "time_or_record": "a lapse or another change in what people hold",
        }[self.value]


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One answer that stands: its kind and, for a restricted device, until when (aware UTC)."""

    kind: AnswerKind
    ends_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Situation:
    """A shift with what was done about it: the gaps that no answer covers, and whether an answer stands."""

    cover: Cover
    open_gaps: tuple[Span, ...]
    is_answered: bool

    @property
    def needs_somebody(self) -> bool:
        """Whether somebody still has to do something about the shift."""
        return bool(self.open_gaps)


def situation(shift_cover: Cover, answers: Sequence[Answer]) -> Situation:
    """Say what is still open on a shift.

    An accepted shift leaves nothing open; a restricted device only what lies after its end time. Bringing an assessor
    closes nothing by itself: only a decision makes somebody current. A swap changes the crew and so the cover.
    """
    gaps = shift_cover.gaps
    if shift_cover.state is not CoverState.NONE:
        return Situation(cover=shift_cover, open_gaps=(), is_answered=False)
    if any(one.kind is AnswerKind.ACCEPT for one in answers):
        return Situation(cover=shift_cover, open_gaps=(), is_answered=True)
    ends = [one.ends_at for one in answers if one.kind is AnswerKind.RESTRICT_DEVICE and one.ends_at is not None]
    for end in ends:
        gaps = tuple(Span(max(gap.start, end), gap.end) for gap in gaps if gap.end > end)
    return Situation(cover=shift_cover, open_gaps=gaps, is_answered=bool(ends))


def rest_between(shift: Span, other: Span) -> timedelta | None:
    """Give the time off between two shifts, None where they overlap."""
    if shift.meets(other):
        return None
    return max(shift.start - other.end, other.start - shift.end)


def has_worsened(before: CoverState, after: CoverState) -> bool:
    """Whether a shift that had somebody current at every minute has nobody at some minute now."""
    return before is not CoverState.NONE and after is CoverState.NONE
