"""Why somebody has no place in time, and the smallest thing that would make one possible.

Tried in this order: one more place on a day they reach, letting their base reach a day, another assessor on a day,
a day of their own. Each is worked out on top of those before it, so that all of them together seat everybody.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from quizapp.assessment.places import (
    PersonDue,
    PlacesPlan,
    SessionOffer,
    costs_in_time,
    costs_late,
    in_order,
)
from quizapp.assessment.seating import Seating


class WhyNot(StrEnum):
    """Why there is no place in time for somebody."""

    NO_DAY = "no_day"
    AWAY = "away"
    NOT_REACHED = "not_reached"
    NO_ASSESSOR = "no_assessor"
    OWN_ASSESSOR = "own_assessor"
    FULL = "full"


class MendKind(StrEnum):
    """What would make a place possible."""

    ONE_MORE_PLACE = "one_more_place"
    REACH = "reach"
    ANOTHER_ASSESSOR = "another_assessor"
    NEW_DAY = "new_day"


@dataclass(frozen=True, kw_only=True)
class Mend:
    """The smallest thing: on which day (`session_id`), or for a new day at which base and by when (None: soon)."""

    kind: MendKind
    session_id: str
    base_id: str
    by_day: date | None


@dataclass(frozen=True, kw_only=True)
class Unmet:
    """Somebody without a place in time, why, and what would make it possible; `placed_late` where one comes later."""

    person_id: str
    due: date | None
    why: WhyNot
    mend: Mend
    placed_late: bool


NEW_DAY = "new day"


def unmet_of(
    plan: PlacesPlan, people: Sequence[PersonDue], offers: Sequence[SessionOffer], today: date
) -> tuple[Unmet, ...]:
    """Explain everybody whom a plan gives no place in time, in the order in which they are due."""
    coming = [offer for offer in offers if offer.day >= today]
    without = {one.person_id for one in plan.unplaced} | {one.person_id for one in plan.late}
    ordered = [one for one in in_order(people) if one.person_id in without]
    mending = _Mending(plan.final.copy(), coming, today)
    seated = plan.final.seated
    return tuple(
        Unmet(
            person_id=one.person_id,
            due=one.due,
            why=why_not(one, coming, today),
            mend=mending.mend(one),
            placed_late=one.person_id in seated,
        )
        for one in ordered
    )


def why_not(person: PersonDue, offers: Sequence[SessionOffer], today: date) -> WhyNot:
    """Say why somebody whom nobody could seat in time was not: what stands in the way of every day."""
    days = [offer for offer in offers if person.is_in_time(offer.day, today)]
    if not days:
        return WhyNot.NO_DAY
    reached = [offer for offer in days if person.base_id in offer.reaches]
    if not reached:
        return WhyNot.NOT_REACHED
    if all(offer.day in person.away_on for offer in reached):
        return WhyNot.AWAY
    here = [offer for offer in reached if offer.day not in person.away_on]
    if any(offer.has_assessor_for(person.person_id) for offer in here):
        return WhyNot.FULL
    return WhyNot.OWN_ASSESSOR if any(offer.assessor_ids for offer in here) else WhyNot.NO_ASSESSOR


class _Mending:
    """A seating that grows by each mend."""

    def __init__(self, seating: Seating, offers: Sequence[SessionOffer], today: date) -> None:
        self.seating, self.today = seating, today
        self.offers = {offer.session_id: offer for offer in offers}

    def mend(self, person: PersonDue) -> Mend:
        """Find the smallest thing, do it, and seat the person."""
        for mend, offer in self._tries(person):
            changed = [*(one for one in self.offers.values() if one.session_id != offer.session_id), offer]
            free = replace(person, away_on=frozenset()) if mend.kind is MendKind.NEW_DAY else person
            costs = (costs_late if person.is_overdue(self.today) else costs_in_time)(free, changed, self.today)
            if mend.kind in {MendKind.ONE_MORE_PLACE, MendKind.NEW_DAY}:
                self.seating.add_seat(offer.session_id)
            if self.seating.place(f"{person.person_id} in time", costs):
                self.offers[offer.session_id] = offer
                return mend
        raise AssertionError("a day of one's own always has a place")

    def _tries(self, person: PersonDue) -> Iterator[tuple[Mend, SessionOffer]]:
        """Give what may help, the smallest first, with the day as it would be then."""
        days = [one for one in self.offers.values() if self._may_help(person, one)]
        days.sort(key=lambda one: (one.base_id != person.base_id, one.day, one.session_id))
        full = [one for one in days if person.can_sit(one)]
        if full:
            yield self._mend(MendKind.ONE_MORE_PLACE, full[0]), full[0]
        for one in days:
            if person.base_id not in one.reaches and one.has_assessor_for(person.person_id):
                wider = replace(one, reaches=one.reaches | {person.base_id})
                yield self._mend(MendKind.REACH, one), wider
        for one in days:
            if person.base_id in one.reaches and not one.has_assessor_for(person.person_id):
                watched = replace(one, assessor_ids=one.assessor_ids | {"another assessor"})
                yield self._mend(MendKind.ANOTHER_ASSESSOR, one), watched
        yield self._new_day(person)

    def _may_help(self, person: PersonDue, offer: SessionOffer) -> bool:
        return person.is_in_time(offer.day, self.today) and offer.day not in person.away_on

    @staticmethod
    def _mend(kind: MendKind, offer: SessionOffer) -> Mend:
        return Mend(kind=kind, session_id=offer.session_id, base_id=offer.base_id, by_day=offer.day)

    def _new_day(self, person: PersonDue) -> tuple[Mend, SessionOffer]:
        """Give a day at the person's own base, the last one in time (for somebody overdue any day); they come to it."""
        by_day = None if person.is_overdue(self.today) else person.due
        offer = SessionOffer(
            session_id=f"{NEW_DAY} {person.base_id} {by_day or 'soon'}",
            day=by_day or self.today,
            base_id=person.base_id,
            reaches=frozenset({person.base_id}),
            free=0,
            assessor_ids=frozenset({"another assessor"}),
        )
        return Mend(kind=MendKind.NEW_DAY, session_id=offer.session_id, base_id=person.base_id, by_day=by_day), offer
