"""Chooses which families a sitting asks, part by part: no two siblings together while others are left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.assessment.families import Family
from quizapp.assessment.number_stream import NumberStream


@dataclass(frozen=True, kw_only=True)
class FormPart:
    """How many questions (1 or more) are asked on one competency."""

    competency: str
    question_count: int


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """One place of the form: the competency it counts for and the family it is drawn from."""

    competency: str
    family: Family


class TooFewFamilies(ValueError):
    """A competency has no family at all that may be asked."""


def choose_families(families: Sequence[Family], parts: Sequence[FormPart], stream: NumberStream) -> tuple[Chosen, ...]:
    """Choose a family for every place of the form, in a drawn order.

    families: those that may be asked of this person on this device. A family, and a group of siblings, comes again
    only when the competency has no other left; it then gets new numbers. Raises TooFewFamilies naming the competency.
    """
    used_families: dict[str, int] = {}
    used_groups: dict[str, int] = {}
    places: list[Chosen] = []
    for part in parts:
        pool = stream.shuffled([family for family in families if part.competency in family.competencies])
        if not pool:
            raise TooFewFamilies(part.competency)
        for _ in range(part.question_count):
            family = min(pool, key=lambda one: (used_families.get(one.code, 0), used_groups.get(one.group, 0)))
            used_families[family.code] = used_families.get(family.code, 0) + 1
            used_groups[family.group] = used_groups.get(family.group, 0) + 1
            places.append(Chosen(competency=part.competency, family=family))
    return tuple(stream.shuffled(places))
