"""Which wrong ideas a person holds: one slip is a slip, two different families that agree are an idea.

The newest answer to each family counts, so that an idea once put right is no longer held.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from quizapp.assessment.families import Family
from quizapp.psychometrics.intervals import Interval, wilson

FAMILIES_THAT_AGREE = 2
FEWEST_FOR_A_SHARE = 20


@dataclass(frozen=True, kw_only=True)
class IdeaAnswer:
    """One answer, with the wrong ideas it named (none for a right or an unknown answer)."""

    person_id: str
    family: str
    competency: str
    ideas: frozenset[str]
    answered_at: datetime


@dataclass(frozen=True, kw_only=True)
class HeldIdea:
    """A wrong idea that a person holds, and the families that agree on it."""

    name: str
    families: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Share:
    """So many of so many; under `FEWEST_FOR_A_SHARE` too few to be compared."""

    count: int
    of: int

    @property
    def is_too_few(self) -> bool:
        """Whether the numbers are too small to say more than the numbers."""
        return self.of < FEWEST_FOR_A_SHARE

    @property
    def interval(self) -> Interval | None:
        """The 95 % Wilson interval, None where nobody was asked."""
        return wilson(self.count, self.of) if self.of else None


@dataclass(frozen=True, kw_only=True)
class IdeaShare:
    """One wrong idea in one competency.

    `named`: answers that named it, of the answers that could have. `held`: people who hold it, of those asked by two
    families that know it. `families` are those that know it and were asked here.
    """

    competency: str
    name: str
    families: tuple[str, ...]
    named: Share
    held: Share


def ideas_known(family: Family) -> frozenset[str]:
    """Return the wrong ideas an answer to a family can name."""
    options = [*family.options, *(option for case in family.cases for option in case.options)]
    names = {idea.name for idea in family.wrong_ideas} | {option.wrong_idea for option in options}
    return frozenset(names - {""})


def held_ideas(answers: Iterable[IdeaAnswer]) -> tuple[HeldIdea, ...]:
    """Return the ideas one person holds, by name: those the newest answers to two different families name."""
    families: dict[str, set[str]] = {}
    for answer in _newest(answers).values():
        for idea in answer.ideas:
            families.setdefault(idea, set()).add(answer.family)
    return tuple(
        HeldIdea(name=name, families=tuple(sorted(agreeing)))
        for name, agreeing in sorted(families.items())
        if len(agreeing) >= FAMILIES_THAT_AGREE
    )


def idea_shares(answers: Iterable[IdeaAnswer], known: Mapping[str, frozenset[str]]) -> tuple[IdeaShare, ...]:
    """Return every idea that somebody named, by competency and then the most often named first.

    known: for each family the ideas its answers can name; what an answer named counts as known to its family.
    """
    given = tuple(answers)
    able = {(answer.family, idea) for answer in given for idea in answer.ideas}
    able |= {(family, idea) for family, ideas in known.items() for idea in ideas}
    holders, askable = _people(given, able)
    named = {(answer.competency, idea) for answer in given for idea in answer.ideas}
    shares = [_share(competency, idea, given, able, holders, askable) for competency, idea in named]
    return tuple(sorted(shares, key=lambda one: (len(one.competency), one.competency, -one.named.count, one.name)))


def _newest(answers: Iterable[IdeaAnswer]) -> dict[str, IdeaAnswer]:
    newest: dict[str, IdeaAnswer] = {}
    for answer in sorted(answers, key=lambda one: one.answered_at):
        newest[answer.family] = answer
    return newest


Able = set[tuple[str, str]]
People = Mapping[str, set[str]]


def _people(given: tuple[IdeaAnswer, ...], able: Able) -> tuple[People, People]:
    """Return who holds each idea, and whom two families that know it have asked."""
    of_person: dict[str, list[IdeaAnswer]] = {}
    for answer in given:
        of_person.setdefault(answer.person_id, []).append(answer)
    holders: dict[str, set[str]] = {}
    askable: dict[str, set[str]] = {}
    families_of: dict[str, set[str]] = {}
    for family, idea in able:
        families_of.setdefault(idea, set()).add(family)
    for person, answers in of_person.items():
        met = {answer.family for answer in answers}
        for idea, families in families_of.items():
            if len(met & families) >= FAMILIES_THAT_AGREE:
                askable.setdefault(idea, set()).add(person)
        for held in held_ideas(answers):
            holders.setdefault(held.name, set()).add(person)
    return holders, askable


def _share(
    competency: str, idea: str, given: tuple[IdeaAnswer, ...], able: Able, holders: People, askable: People
) -> IdeaShare:
    here = [answer for answer in given if answer.competency == competency and (answer.family, idea) in able]
    people = {answer.person_id for answer in here}
    return IdeaShare(
        competency=competency,
        name=idea,
        families=tuple(sorted({answer.family for answer in here})),
        named=Share(count=sum(idea in answer.ideas for answer in here), of=len(here)),
        held=Share(count=len(people & holders.get(idea, set())), of=len(people & askable.get(idea, set()))),
    )
