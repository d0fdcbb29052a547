"""A structured discussion: what is asked, what a full and a partial answer contain, and what the marks say together.

Conjunctive like an observation: a critical question needs a full answer, and no critical error may be said.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from typing import Any

from quizapp.assessment.sign_off_record import EvidenceOutcome

SUGGESTED_CUT_FRACTION = 0.75
FULL_POINTS = 2


class DiscussionMark(IntEnum):
    """How much of a full answer was said."""

    NOTHING = 0
    PARTLY = 1
    FULLY = 2

    @property
    def words(self) -> str:
        """The mark with its meaning."""
        return ("0, nothing of it", "1, in part", "2, in full")[self]


@dataclass(frozen=True, kw_only=True)
class DiscussedQuestion:
    """One question: what is asked, and what a full and a partial answer contain, for the marker's eyes."""

    letter: str
    ask: str
    full: str
    partial: str
    is_critical: bool


@dataclass(frozen=True, kw_only=True)
class DiscussionGuide:
    """One content file. `competency` is the one it serves; `is_about_device`: its evidence holds for one revision.

    `cut_fraction` (above 0, at most 1) is the share of all points from which it is shown. `case` is read aloud.
    `authors` are staff numbers.
    """

    code: str
    title: str
    version: int
    competency: str
    minutes: int
    cut_fraction: float
    is_about_device: bool
    owner: str
    review_by: date
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    questions: tuple[DiscussedQuestion, ...]
    case: str
    content_hash: str
    authors: tuple[str, ...] = ()

    @property
    def letters(self) -> tuple[str, ...]:
        """The letters of the questions in their order."""
        return tuple(one.letter for one in self.questions)

    @property
    def full_points(self) -> int:
        """The points of a discussion in which everything was said."""
        return FULL_POINTS * len(self.questions)

    @property
    def points_needed(self) -> int:
        """The fewest points that reach the cut."""
        exact = self.cut_fraction * self.full_points
        return next(points for points in range(self.full_points + 1) if points >= exact - 1e-9)


@dataclass(frozen=True, kw_only=True)
class DiscussionResult:
    """What the marks say: the outcome, the points, and the reasons in sentences (none where it is shown)."""

    outcome: EvidenceOutcome
    points: int
    full_points: int
    reasons: tuple[str, ...]


def discussion_result(
    guide: DiscussionGuide, marks: Mapping[str, DiscussionMark], critical_errors: Collection[str]
) -> DiscussionResult:
    """Say what a discussion shows.

    `marks` by letter; a question without a mark was not asked, and the discussion is incomplete unless something
    speaks against already. `critical_errors` are the errors that were said.
    """
    points = sum(int(marks[letter]) for letter in guide.letters if letter in marks)
    against = [*_errors(critical_errors), *_critical(guide, marks)]
    unasked = [letter for letter in guide.letters if letter not in marks]
    if not unasked and points < guide.points_needed:
        against.append(f"{points} of {guide.full_points} points; the cut is {guide.points_needed}.")
    if against:
        outcome = EvidenceOutcome.NOT_SHOWN
    elif unasked:
        outcome = EvidenceOutcome.INCOMPLETE
    else:
        outcome = EvidenceOutcome.SHOWN
    missing = [f"Not asked: {', '.join(unasked)}."] if unasked else []
    return DiscussionResult(outcome=outcome, points=points, full_points=guide.full_points, reasons=(*against, *missing))


def _errors(said: Iterable[str]) -> list[str]:
    return [f"A critical error was said: {error}." for error in said]


def _critical(guide: DiscussionGuide, marks: Mapping[str, DiscussionMark]) -> list[str]:
    return [
        f"Question {one.letter} is critical and was not answered in full."
        for one in guide.questions
        if one.is_critical and one.letter in marks and marks[one.letter] is not DiscussionMark.FULLY
    ]


def guide_to_plain(guide: DiscussionGuide) -> dict[str, Any]:
    """Return a guide as plain values, to be frozen with the discussion that follows it."""
    return {
        "code": guide.code, "title": guide.title, "version": guide.version, "competency": guide.competency,
        "minutes": guide.minutes, "cut_percent": round(guide.cut_fraction * 100, 6),
        "is_about_device": guide.is_about_device, "owner": guide.owner, "review_by": guide.review_by.isoformat(),
        "sources": list(guide.sources), "cautions": list(guide.cautions), "case": guide.case,
        "content_hash": guide.content_hash,
        "questions": [
            {"letter": one.letter, "ask": one.ask, "full": one.full, "partial": one.partial,
             "is_critical": one.is_critical}
            for one in guide.questions
        ],
    }  # fmt: skip


def guide_from_plain(plain: Mapping[str, Any]) -> DiscussionGuide:
    """Return a frozen guide as it was."""
    return DiscussionGuide(
        code=plain["code"],
        title=plain["title"],
        version=plain["version"],
        competency=plain["competency"],
        minutes=plain["minutes"],
        cut_fraction=plain["cut_percent"] / 100,
        is_about_device=plain["is_about_device"],
        owner=plain["owner"],
        review_by=date.fromisoformat(plain["review_by"]),
        sources=tuple(plain["sources"]),
        cautions=tuple(plain["cautions"]),
        questions=tuple(DiscussedQuestion(**one) for one in plain["questions"]),
        case=plain["case"],
        content_hash=plain["content_hash"],
    )
