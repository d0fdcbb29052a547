"""Who gets which place: the earliest due first, as many as possible in time, nobody watched only by themselves.

People who are not current, and those for whom nothing in time is left, get the earliest places that remain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from quizapp.assessment.seating import Seating
from quizapp.assessment.validity import LAPSING_DAYS

TRAVEL_COST = 1_000_000
EARLY_COST = 10_000
LATE_DAY_COST = 10_000_000


@dataclass(frozen=True, kw_only=True)
class SessionOffer:
    """A session day with its free seats (0 or more), the bases whose people reach it, and who watches there."""

    session_id: str
    day: date
    base_id: str
    reaches: frozenset[str]
    free: int
    assessor_ids: frozenset[str]

    def has_assessor_for(self, person_id: str) -> bool:
        """Whether somebody other than the person watches there."""
        return bool(self.assessor_ids - {person_id})


@dataclass(frozen=True, kw_only=True)
class PersonDue:
    """Somebody who needs a place.

    `due`: the last valid day, inclusive, by which it keeps them current; a day gone by, or None for somebody never
    signed off, means as soon as possible. `away_on`: days on which they cannot come. `come_fraction`,
    `pass_fraction` (over 0 to 1): the chances that they come, and that what is shown is enough.
    """

    person_id: str
    base_id: str
    due: date | None
    away_on: frozenset[date] = frozenset()
    come_fraction: float = 1.0
    pass_fraction: float = 1.0

    def __post_init__(self) -> None:
        """Refuse chances that are none."""
        if not (0.0 < self.come_fraction <= 1.0 and 0.0 < self.pass_fraction <= 1.0):
            raise ValueError(f"a chance lies over 0 and up to 1: {self.come_fraction}, {self.pass_fraction}")

    @property
    def success_fraction(self) -> float:
        """The chance, over 0 to 1, that one place is enough."""
        return self.come_fraction * self.pass_fraction

    def is_overdue(self, today: date) -> bool:
        """Whether nothing can keep them current any more, only make them so again."""
        return self.due is None or self.due < today

    def can_sit(self, offer: SessionOffer) -> bool:
        """Whether they reach the day, are not away, and are watched by somebody else."""
        return (
            self.base_id in offer.reaches
            and offer.day not in self.away_on
            and offer.has_assessor_for(self.person_id)
        )  # fmt: skip

    def is_in_time(self, day: date, today: date) -> bool:
        """Whether a place on that day keeps them current; for somebody overdue every day is as good as can be."""
        return self.is_overdue(today) or (self.due is not None and day <= self.due)


@dataclass(frozen=True, kw_only=True)
class Placement:
    """One person's place; `is_late`: after the last valid day of somebody who is current now."""

    person_id: str
    session_id: str
    is_late: bool = False


@dataclass(frozen=True, kw_only=True)
class PlacesPlan:
    """Who sits where, in the order in which people are due; `unplaced` are those without any place.

    `in_time` are those whom a place keeps current. `final` is the seating: what else would be possible is asked of it.
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[PersonDue, ...]
    in_time: frozenset[str]
    final: Seating

    @property
    def late(self) -> tuple[Placement, ...]:
        """The places that come after the last valid day."""
        return tuple(one for one in self.placements if one.is_late)


def in_order(people: Sequence[PersonDue]) -> list[PersonDue]:
    """Give people in the order in which they are due; those never signed off come last."""
    return sorted(people, key=lambda one: (one.due or date.max, one.person_id))


def plan_places(people: Sequence[PersonDue], offers: Sequence[SessionOffer], today: date) -> PlacesPlan:
    """Give as many people as possible a place in time, the earlier due before the later due, then the rest.

    Whoever would be overdue anyway takes no place from somebody it keeps current. Among all seatings of the same
    people the one with the least travel is taken, then with the fewest renewals more than 60 days early, then the
    soonest. Source: the sets of people who can be seated together form a transversal matroid (Edmonds and Fulkerson
    1965), for which taking them in order is optimal; seats by successive shortest paths.
    """
    coming = [offer for offer in offers if offer.day >= today]
    ordered = in_order(people)
    by_id = {one.person_id: one for one in ordered}
    seating = Seating({offer.session_id: offer.free for offer in coming})
    for one in ordered:
        if not one.is_overdue(today):
            seating.place(one.person_id, costs_in_time(one, coming, today))
    in_time = frozenset(seating.seated)
    for one in ordered:
        if one.person_id not in in_time:
            seating.place(one.person_id, costs_late(one, coming, today))
    days = {offer.session_id: offer.day for offer in coming}
    seated = seating.seated
    return PlacesPlan(
        placements=tuple(
            Placement(
                person_id=one.person_id,
                session_id=seated[one.person_id],
                is_late=not one.is_in_time(days[seated[one.person_id]], today),
            )
            for one in ordered
            if one.person_id in seated
        ),
        unplaced=tuple(by_id[one.person_id] for one in ordered if one.person_id not in seated),
        in_time=in_time,
        final=seating,
    )


def as_planned(
    people: Sequence[PersonDue], chosen: Mapping[str, str], offers: Sequence[SessionOffer], today: date
) -> PlacesPlan:
    """Give the plan in which people have the days somebody chose for them (person to day), whatever would be best.

    People and days that are not among those given are left out.
    """
    coming = {offer.session_id: offer for offer in offers if offer.day >= today}
    seating = Seating({offer.session_id: offer.free for offer in coming.values()})
    placements = []
    ordered = in_order(people)
    for one in ordered:
        offer = coming.get(chosen.get(one.person_id, ""))
        if offer is not None:
            can = [
                other.session_id for other in coming.values() if one.can_sit(other) and one.is_in_time(other.day, today)
            ]
            seating.put(one.person_id, can, offer.session_id)
            is_late = not one.is_in_time(offer.day, today)
            placements.append(Placement(person_id=one.person_id, session_id=offer.session_id, is_late=is_late))
    seated = seating.seated
    return PlacesPlan(
        placements=tuple(placements),
        unplaced=tuple(one for one in ordered if one.person_id not in seated),
        in_time=frozenset(one.person_id for one in placements if not one.is_late),
        final=seating,
    )


def costs_in_time(person: PersonDue, offers: Sequence[SessionOffer], today: date) -> Mapping[str, int]:
    """Give what each place in time costs: travel most, then renewing so early that the anniversary moves, then days."""
    return {
        offer.session_id: TRAVEL_COST * (offer.base_id != person.base_id)
        + EARLY_COST * _moves_anniversary(person, offer.day)
        + (offer.day - today).days
        for offer in offers
        if person.can_sit(offer) and person.is_in_time(offer.day, today)
    }


def _moves_anniversary(person: PersonDue, day: date) -> bool:
    return person.due is not None and day < person.due - timedelta(days=LAPSING_DAYS)


def costs_late(person: PersonDue, offers: Sequence[SessionOffer], today: date) -> Mapping[str, int]:
    """Give what each place costs somebody for whom none in time is left: every day of waiting, then travel."""
    return {
        offer.session_id: LATE_DAY_COST * (offer.day - today).days + TRAVEL_COST * (offer.base_id != person.base_id)
        for offer in offers
        if person.can_sit(offer)
    }
