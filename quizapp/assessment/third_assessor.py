"""Who watches a third time when two assessors differ: current, authorised, and connected with nobody concerned."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class PossibleThird:
    """An assessor of the base; `connected_with` are persons with whom a connection stands on record.

    `watched_lately` is how many observations the assessor opened in the last weeks.
    """

    person_id: str
    name: str
    is_current: bool
    connected_with: frozenset[str]
    watched_lately: int


def propose_third(
    candidates: Iterable[PossibleThird], *, person_id: str, assessor_ids: Collection[str]
) -> tuple[PossibleThird, ...]:
    """Return who could watch a third time, the least busy first, then by name.

    Left out: the person observed, both assessors, whoever is not current, and whoever is connected with any of them.
    """
    concerned = {person_id, *assessor_ids}
    fit = [
        one
        for one in candidates
        if one.is_current and one.person_id not in concerned and not one.connected_with & concerned
    ]
    return tuple(sorted(fit, key=lambda one: (one.watched_lately, one.name, one.person_id)))
