"""Second places for those who may well not come, the chance that all succeed, and what a change would do to it.

Chances are assumptions until a service has counted its own; whoever shows them says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import prod

from quizapp.assessment.places import PersonDue, Placement, SessionOffer, in_order
from quizapp.assessment.seating import Seating

LIKELY_COME_FRACTION = 0.9
USUALLY_CAME, USUALLY_OF = 9, 10


def come_fraction(came: int, missed: int) -> float:
    """Give the chance, over 0 to under 1, that somebody comes who came and stayed away so often (0 or more each).

    Everybody starts as if they had come to nine days of ten: an assumption of ours, soon outweighed by what was seen.
    """
    if came < 0 or missed < 0:
        raise ValueError(f"nobody came {came} times and missed {missed}")
    return (came + USUALLY_CAME) / (came + missed + USUALLY_OF)


def is_likely_no_show(person: PersonDue) -> bool:
    """Whether somebody is less likely to come than people usually are."""
    return person.come_fraction < LIKELY_COME_FRACTION


def fallback_places(
    people: Sequence[PersonDue], placements: Sequence[Placement], offers: Sequence[SessionOffer], today: date
) -> tuple[Placement, ...]:
    """Give likely no-shows a second place, later than their first and still in time, as far as seats are left over.

    Nobody's first place changes. The seats go where they raise the chance that all succeed the most: that chance is a
    product, so the gain of each person is the logarithm of (1 - (1 - p)^2)/p, and the least likely come first.
    """
    by_id = {one.person_id: one for one in people}
    coming = [offer for offer in offers if offer.day >= today]
    days = {offer.session_id: offer.day for offer in coming}
    taken = [one.session_id for one in placements]
    seating = Seating({offer.session_id: offer.free - taken.count(offer.session_id) for offer in coming})
    first = {one.person_id: days[one.session_id] for one in placements if not one.is_late}
    likely = [by_id[person_id] for person_id in first if is_likely_no_show(by_id[person_id])]
    likely.sort(key=lambda one: (one.success_fraction, one.due or date.max, one.person_id))
    for one in likely:
        costs = {
            offer.session_id: (offer.day - today).days
            for offer in coming
            if offer.day > first[one.person_id] and one.can_sit(offer) and one.is_in_time(offer.day, today)
        }
        seating.place(one.person_id, costs)
    seated = seating.seated
    return tuple(
        Placement(person_id=one.person_id, session_id=seated[one.person_id])
        for one in in_order(likely)
        if one.person_id in seated
    )


def all_succeed_fraction(people: Sequence[PersonDue], placements: Sequence[Placement]) -> float:
    """Give the chance, 0 to 1, that everybody with a place in time succeeds at one of theirs.

    `placements` may name a person twice: a first place and a fallback. People and tries are taken as independent.
    """
    by_id = {one.person_id: one for one in people}
    tries: dict[str, int] = {}
    for one in placements:
        if not one.is_late:
            tries[one.person_id] = tries.get(one.person_id, 0) + 1
    return prod(1.0 - (1.0 - by_id[person].success_fraction) ** number for person, number in tries.items())


@dataclass(frozen=True, kw_only=True)
class PlanFigures:
    """What a set of places comes to: people in time, late, with a fallback, travelling, and the chance of all."""

    in_time: int
    late: int
    with_fallback: int
    travelling: int
    all_succeed_fraction: float


def figures_of(
    people: Sequence[PersonDue],
    placements: Sequence[Placement],
    fallbacks: Sequence[Placement],
    offers: Sequence[SessionOffer],
) -> PlanFigures:
    """Count a set of places."""
    homes = {one.person_id: one.base_id for one in people}
    bases = {offer.session_id: offer.base_id for offer in offers}
    return PlanFigures(
        in_time=sum(not one.is_late for one in placements),
        late=sum(one.is_late for one in placements),
        with_fallback=len(fallbacks),
        travelling=sum(homes[one.person_id] != bases[one.session_id] for one in placements),
        all_succeed_fraction=all_succeed_fraction(people, [*placements, *fallbacks]),
    )


def why_not_there(person: PersonDue, offer: SessionOffer, taken: Mapping[str, int]) -> str:
    """Say why somebody cannot have a place on a day ("" when they can); `taken` counts the places given out."""
    if person.base_id not in offer.reaches:
        return "Their base does not reach this day."
    if offer.day in person.away_on:
        return "They are on shift or away on this day."
    if not offer.has_assessor_for(person.person_id):
        return "Nobody else watches there." if offer.assessor_ids else "Nobody watches there."
    if taken.get(offer.session_id, 0) >= offer.free:
        return "It is full."
    return ""
