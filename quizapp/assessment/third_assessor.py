"""Who watches a third time when two assessors differ: current, authorised, and connected with nobody concerned."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class PossibleThird:
    """An assessor; `connected_with` are persons with whom a connection stands on record.

    `watched_lately` is how many observations the assessor opened in the last weeks; `elsewhere` names the base of one
    who is assessor at another base only, and needs the role here first ("" for one of this base).
    """

    person_id: str
    name: str
    is_current: bool
    connected_with: frozenset[str]
    watched_lately: int
    elsewhere: str = ""


def propose_third(
    candidates: Iterable[PossibleThird], *, person_id: str, assessor_ids: Collection[str]
) -> tuple[PossibleThird, ...]:
    """Return who could watch a third time, the least busy first; from elsewhere only where nobody here can.

    Left out: the person observed, both assessors, whoever is not current, and whoever is connected with any of them.
    """
    concerned = {person_id, *assessor_ids}
    fit = [
        one
        for one in candidates
        if one.is_current and one.person_id not in concerned and not one.connected_with & concerned
    ]
    here = [one for one in fit if not one.elsewhere]
    return tuple(sorted(here or fit, key=lambda one: (one.watched_lately, one.name, one.person_id)))
