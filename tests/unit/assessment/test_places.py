"""Plans of places against an assignment solver, over many random cases, and the worked example.

Reference: scipy.optimize.linear_sum_assignment (Jonker and Volgenant's algorithm; scipy's documentation).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import log
from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from quizapp.assessment.place_fallbacks import (
    all_succeed_fraction,
    come_fraction,
    fallback_places,
    figures_of,
    is_likely_no_show,
    why_not_there,
)
from quizapp.assessment.places import (
    PersonDue,
    Placement,
    PlacesPlan,
    SessionOffer,
    as_planned,
    costs_in_time,
    plan_places,
)

TODAY = date(2026, 3, 2)
CASES = 600
IMPOSSIBLE = 10**9


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def offer(number: int, free: int, *, base: str = "a", reaches: str = "a", assessors: str = "xy") -> SessionOffer:
    return SessionOffer(
        session_id=f"day {number} {base}",
        day=day(number),
        base_id=base,
        reaches=frozenset(reaches),
        free=free,
        assessor_ids=frozenset(assessors),
    )


def person(name: str, due: int | None, **fields: object) -> PersonDue:
    return PersonDue(person_id=name, base_id="a", due=None if due is None else day(due), **fields)  # type: ignore[arg-type]


def a_case(chance: Random) -> tuple[list[PersonDue], list[SessionOffer]]:
    """Up to fourteen people and six days at three bases, of which some are watched by those who need a place."""
    people = [
        PersonDue(
            person_id=f"p{number:02}",
            base_id=chance.choice("abc"),
            due=chance.choice([None, *[day(chance.randint(-30, 80))] * 5]),
            away_on=frozenset(day(chance.randint(0, 60)) for _ in range(chance.randint(0, 2))),
            come_fraction=chance.choice([0.5, 0.7, 0.8, 0.9, 0.95]),
            pass_fraction=chance.choice([0.8, 0.9, 1.0]),
        )
        for number in range(chance.randint(1, 14))
    ]
    offers = [
        SessionOffer(
            session_id=f"s{number}",
            day=day(chance.randint(-3, 70)),
            base_id=chance.choice("abc"),
            reaches=frozenset(chance.sample("abc", chance.randint(1, 3))),
            free=chance.randint(0, 3),
            assessor_ids=frozenset(chance.sample([*(one.person_id for one in people), "x"], 1)),
        )
        for number in range(chance.randint(1, 6))
    ]
    return people, offers


def seats_of(offers: list[SessionOffer]) -> list[SessionOffer]:
    return [one for one in offers for _ in range(one.free)]


def best(worth: list[list[float]]) -> float:
    """The greatest total of an assignment of rows to columns; a worth of 0 is leaving the row without."""
    table = np.array(worth, dtype=float)
    if table.size == 0:
        return 0.0
    rows, columns = linear_sum_assignment(table, maximize=True)
    return float(table[rows, columns].sum())


def allowed(one: PersonDue, seat: SessionOffer) -> bool:
    """Written out anew, so that the planner's own rule is not its own judge."""
    return (
        seat.day >= TODAY
        and one.base_id in seat.reaches
        and seat.day not in one.away_on
        and any(assessor != one.person_id for assessor in seat.assessor_ids)
    )


def in_time(one: PersonDue, seat: SessionOffer) -> bool:
    return one.due is not None and one.due >= TODAY and allowed(one, seat) and seat.day <= one.due


@pytest.mark.parametrize("seed", range(CASES))
def test_a_plan_is_as_good_as_the_solver_says_any_can_be(seed: int) -> None:
    people, offers = a_case(Random(seed))
    plan = plan_places(people, offers, TODAY)
    check_that_it_is_allowed(plan, people, offers)
    check_that_the_most_are_in_time(plan, people, offers)
    check_that_it_costs_the_least(plan, people, offers)


def check_that_it_is_allowed(plan: PlacesPlan, people: list[PersonDue], offers: list[SessionOffer]) -> None:
    by_id, days = {one.person_id: one for one in people}, {one.session_id: one for one in offers}
    for placement in plan.placements:
        one, seat = by_id[placement.person_id], days[placement.session_id]
        assert allowed(one, seat)
        current = one.due is not None and one.due >= TODAY
        assert placement.is_late == (current and one.due is not None and seat.day > one.due)
    given = [placement.session_id for placement in plan.placements]
    assert all(given.count(seat.session_id) <= seat.free for seat in offers)
    names = [placement.person_id for placement in plan.placements] + [one.person_id for one in plan.unplaced]
    assert sorted(names) == sorted(one.person_id for one in people)


def check_that_the_most_are_in_time(plan: PlacesPlan, people: list[PersonDue], offers: list[SessionOffer]) -> None:
    """Worths fall so steeply with the due day that no number of later people outweighs an earlier one."""
    seats, ordered = seats_of(offers), sorted(people, key=lambda one: (one.due or date.max, one.person_id))
    worths = {one.person_id: 2.0 ** (len(ordered) - place) for place, one in enumerate(ordered)}
    placed = plan.in_time
    assert len(placed) == best([[float(in_time(one, seat)) for seat in seats] for one in people])
    steep = best([[worths[one.person_id] * in_time(one, seat) for seat in seats] for one in people])
    assert sum(worths[name] for name in placed) == steep
    everybody = best([[float(allowed(one, seat)) for seat in seats] for one in people])
    assert len(plan.placements) <= everybody


def check_that_it_costs_the_least(plan: PlacesPlan, people: list[PersonDue], offers: list[SessionOffer]) -> None:
    """Of the very people who are in time, seated alone."""
    alone = plan_places([one for one in people if one.person_id in plan.in_time], offers, TODAY)
    kept = {one.person_id: one.session_id for one in alone.placements}
    assert set(kept) == plan.in_time
    if not kept:
        return
    rows = [one for one in people if one.person_id in kept]
    costs = {one.person_id: costs_in_time(one, [o for o in offers if o.day >= TODAY], TODAY) for one in rows}
    table = np.array(
        [[costs[one.person_id].get(seat.session_id, IMPOSSIBLE) for seat in seats_of(offers)] for one in rows]
    )
    found, columns = linear_sum_assignment(table)
    assert sum(costs[name][session] for name, session in kept.items()) == table[found, columns].sum()


@pytest.mark.parametrize("seed", range(CASES))
def test_fallback_places_raise_the_chance_of_all_as_far_as_can_be(seed: int) -> None:
    people, offers = a_case(Random(10_000 + seed))
    plan = plan_places(people, offers, TODAY)
    fallbacks = fallback_places(people, plan.placements, offers, TODAY)
    days = {one.session_id: one.day for one in offers}
    first = {one.person_id: one for one in plan.placements if not one.is_late}
    left = {one.session_id: one.free - sum(p.session_id == one.session_id for p in plan.placements) for one in offers}
    seats = [one for one in offers for _ in range(left[one.session_id])]
    likely = [one for one in people if one.person_id in first and is_likely_no_show(one)]

    def gain(one: PersonDue, seat: SessionOffer) -> float:
        late_enough = seat.day > days[first[one.person_id].session_id]
        current = one.due is not None and one.due >= TODAY
        if not (late_enough and allowed(one, seat) and (not current or (one.due is not None and seat.day <= one.due))):
            return 0.0
        p = one.come_fraction * one.pass_fraction
        return log((1 - (1 - p) ** 2) / p)

    before = all_succeed_fraction(people, plan.placements)
    after = all_succeed_fraction(people, [*plan.placements, *fallbacks])
    assert log(after / before) == pytest.approx(best([[gain(one, seat) for seat in seats] for one in likely]), abs=1e-9)
    given = [one.session_id for one in (*plan.placements, *fallbacks)]
    assert all(given.count(seat.session_id) <= seat.free for seat in offers)


def test_the_worked_example_six_of_eight() -> None:
    """Constructed: due on days 10, 20, 25, 25, 40, 45, 50, 60; places on days 15, 30 and 42, two each."""
    people = [person(f"p{at}", due) for at, due in enumerate((10, 20, 25, 25, 40, 45, 50, 60))]
    plan = plan_places(people, [offer(15, 2), offer(30, 2), offer(42, 2)], TODAY)
    found = {one.person_id: one.session_id for one in plan.placements if not one.is_late}
    assert found == {"p1": "day 15 a", "p2": "day 15 a", "p4": "day 30 a", "p5": "day 30 a", "p6": "day 42 a",
                     "p7": "day 42 a"}  # fmt: skip
    assert [one.person_id for one in plan.unplaced] == ["p0", "p3"]


@pytest.mark.parametrize(("due", "expected"), [(12, {"current": "day 10 a", "lapsed": "day 15 a"}),
                                               (20, {"current": "day 15 a", "lapsed": "day 10 a"})])  # fmt: skip
def test_who_is_not_current_sits_as_soon_as_nobody_stops_being_current_for_it(
    due: int, expected: dict[str, str]
) -> None:
    people = [person("lapsed", -5), person("never", None), person("current", due)]
    plan = plan_places(people, [offer(10, 1), offer(15, 1)], TODAY)
    assert {one.person_id: one.session_id for one in plan.placements} == expected
    assert [one.person_id for one in plan.unplaced] == ["never"]


def test_an_assessor_is_never_watched_only_by_themselves() -> None:
    alone = offer(5, 1, assessors="p")
    assert plan_places([person("p", 20)], [alone], TODAY).placements == ()
    watched = plan_places([person("p", 20)], [replace(alone, assessor_ids=frozenset("pq"))], TODAY)
    assert watched.placements == (Placement(person_id="p", session_id=alone.session_id),)


def test_a_day_that_renews_too_early_is_taken_only_when_there_is_no_other() -> None:
    """More than 60 days before the last valid day a renewal moves the anniversary."""
    early, later = offer(5, 1), offer(30, 1)
    assert plan_places([person("p", 80)], [early, later], TODAY).placements[0].session_id == later.session_id
    assert plan_places([person("p", 80)], [early], TODAY).placements[0].session_id == early.session_id


def test_figures_and_why_somebody_cannot_sit_there() -> None:
    people = [person("p", 20, come_fraction=0.8), person("q", 25, away_on=frozenset({day(12)}))]
    offers = [offer(10, 1), offer(12, 2, base="b"), offer(14, 1, reaches="b"), offer(15, 1, assessors="p")]
    first = (Placement(person_id="p", session_id="day 10 a"),)
    second = (Placement(person_id="p", session_id="day 12 b"),)
    assert figures_of(people, first, (), offers).all_succeed_fraction == pytest.approx(0.8)
    assert figures_of(people, first, second, offers).all_succeed_fraction == pytest.approx(0.96)
    assert figures_of(people, second, (), offers).travelling == 1
    taken = {"day 10 a": 1}
    assert [why_not_there(people[1], one, taken) for one in offers] == [
        "It is full.", "They are on shift or away on this day.", "Their base does not reach this day.", ""
    ]  # fmt: skip
    assert why_not_there(people[0], offers[3], taken) == "Nobody else watches there."


def test_the_chance_to_come_starts_at_nine_of_ten_and_follows_what_was_seen() -> None:
    assert come_fraction(0, 0) == 0.9
    assert come_fraction(10, 0) == 0.95
    assert come_fraction(0, 2) == 0.75
    with pytest.raises(ValueError, match="missed -1"):
        come_fraction(0, -1)
    with pytest.raises(ValueError, match="chance"):
        person("p", 3, come_fraction=0.0)


def test_a_plan_as_somebody_chose_it_keeps_their_choice() -> None:
    people = [person("p", 20), person("q", 12), person("r", 30)]
    offers = [offer(10, 1), offer(15, 1), offer(40, 1)]
    plan = as_planned(people, {"p": "day 10 a", "r": "day 40 a", "gone": "day 15 a"}, offers, TODAY)
    assert {one.person_id: (one.session_id, one.is_late) for one in plan.placements} == {
        "p": ("day 10 a", False), "r": ("day 40 a", True)
    }  # fmt: skip
    assert [one.person_id for one in plan.unplaced] == ["q"]
    assert plan.final.place("q", {"day 10 a": 0})
    assert plan.final.seated["p"] == "day 15 a"
