"""What the page of wrong ideas shows: shares in words, those of few people marked, grouped by competency."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from quizapp.assessment.held_ideas import IdeaShare, Share
from quizapp.services.wrong_ideas_of import CohortIdeas


@dataclass(frozen=True, kw_only=True)
class ShownIdea:
    """One idea of a competency: its words, the families that know it, and two shares in words."""

    words: str
    families: tuple[str, ...]
    named: str
    held: str


@dataclass(frozen=True, kw_only=True)
class ShownIdeas:
    """Everything the template needs; `groups` are competencies with their ideas."""

    finding: str
    lede: str
    groups: tuple[tuple[str, tuple[ShownIdea, ...]], ...]


def shown_ideas(found: CohortIdeas) -> ShownIdeas:
    """Lay out the ideas of a cohort."""
    answers, people = _count(found.answers, "answer", "answers"), _count(found.people, "person", "people")
    groups = groupby(found.shares, key=lambda share: share.competency)
    return ShownIdeas(
        finding=_finding(found),
        lede=f"{answers} of {people} in assessments handed in. Practice is left out.",
        groups=tuple((competency, tuple(_idea(share) for share in shares)) for competency, shares in groups),
    )


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _finding(found: CohortIdeas) -> str:
    held = {share.name: share.held.count for share in found.shares if share.held.count}
    if held:
        most = max(held, key=lambda name: (held[name], name))
        people = "1 person holds" if held[most] == 1 else f"{held[most]} people hold"
        return f"{people} this idea: {in_words(most)}."
    return "Nobody holds a wrong idea." if found.answers else "Nobody has handed anything in yet."


def _idea(share: IdeaShare) -> ShownIdea:
    return ShownIdea(
        words=in_words(share.name),
        families=share.families,
        named=share_words(share.named),
        held=share_words(share.held),
    )


def in_words(name: str) -> str:
    """Return the name of an idea as people read it."""
    return name.replace("-", " ")


def share_words(share: Share) -> str:
    """Say a share: both numbers, and where they are enough the 95 % interval in hundredths."""
    interval = share.interval
    if interval is None:
        return "nobody was asked twice"
    numbers = f"{share.count} of {share.of}"
    if share.is_too_few:
        return f"{numbers}, too few to compare"
    low, high = round(100 * interval.lower_fraction), round(100 * interval.upper_fraction)
    return f"{numbers}, {low} to {high} in 100"
