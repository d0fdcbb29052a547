"""Why somebody has no place, and that the smallest thing named really makes one possible."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest

from quizapp.assessment.place_mends import MendKind, Unmet, WhyNot, unmet_of
from quizapp.assessment.places import PersonDue, SessionOffer, plan_places

TODAY = date(2026, 3, 2)
CASES = 600


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def a_day(number: int, free: int, *, base: str = "a", reaches: str = "a", assessors: str = "xy") -> SessionOffer:
    return SessionOffer(session_id=f"day {number}", day=day(number), base_id=base, reaches=frozenset(reaches),
                        free=free, assessor_ids=frozenset(assessors))  # fmt: skip


def somebody(name: str, due: int | None, away: tuple[int, ...] = ()) -> PersonDue:
    return PersonDue(person_id=name, base_id="a", due=None if due is None else day(due),
                     away_on=frozenset(day(one) for one in away))  # fmt: skip


def found(people: list[PersonDue], offers: list[SessionOffer]) -> tuple[Unmet, ...]:
    return unmet_of(plan_places(people, offers, TODAY), people, offers, TODAY)


def mended(offers: list[SessionOffer], unmet: tuple[Unmet, ...], people: list[PersonDue]) -> list[SessionOffer]:
    """The days as they would be with every mend done."""
    days = {one.session_id: one for one in offers}
    homes = {one.person_id: one.base_id for one in people}
    for one in unmet:
        mend = one.mend
        if mend.kind is MendKind.NEW_DAY:
            days[mend.session_id] = SessionOffer(
                session_id=mend.session_id, day=mend.by_day or TODAY, base_id=mend.base_id,
                reaches=frozenset({mend.base_id}), free=1, assessor_ids=frozenset({"new"}),
            )  # fmt: skip
            continue
        known = days[mend.session_id]
        days[mend.session_id] = {
            MendKind.ONE_MORE_PLACE: replace(known, free=known.free + 1),
            MendKind.REACH: replace(known, reaches=known.reaches | {homes[one.person_id]}),
            MendKind.ANOTHER_ASSESSOR: replace(known, assessor_ids=known.assessor_ids | {"new"}),
        }[mend.kind]
    return list(days.values())


@pytest.mark.parametrize("seed", range(CASES))
def test_with_every_mend_done_everybody_has_a_place_in_time(seed: int) -> None:
    chance = Random(seed)
    people = [
        PersonDue(person_id=f"p{number:02}", base_id=chance.choice("abc"),
                  due=chance.choice([None, *[day(chance.randint(-30, 80))] * 5]))
        for number in range(chance.randint(1, 14))
    ]  # fmt: skip
    offers = [
        SessionOffer(session_id=f"s{number}", day=day(chance.randint(0, 70)), base_id=chance.choice("abc"),
                     reaches=frozenset(chance.sample("abc", chance.randint(1, 2))), free=chance.randint(0, 2),
                     assessor_ids=frozenset(chance.sample([*(one.person_id for one in people), "x"], 1)))
        for number in range(chance.randint(0, 5))
    ]  # fmt: skip
    unmet = found(people, offers)
    after = plan_places(people, mended(offers, unmet, people), TODAY)
    assert after.unplaced == ()
    assert after.late == ()


def test_the_worked_example_needs_a_place_before_day_10_and_one_more_before_day_25() -> None:
    people = [somebody(f"p{at}", due) for at, due in enumerate((10, 20, 25, 25, 40, 45, 50, 60))]
    first, second = found(people, [a_day(15, 2), a_day(30, 2), a_day(42, 2)])
    assert (first.person_id, first.why, first.mend.kind, first.mend.by_day) == (
        "p0", WhyNot.NO_DAY, MendKind.NEW_DAY, day(10)
    )  # fmt: skip
    assert (second.person_id, second.why, second.mend.kind) == ("p3", WhyNot.FULL, MendKind.ONE_MORE_PLACE)
    assert second.mend.by_day is not None
    assert second.mend.by_day <= day(25)


@pytest.mark.parametrize(
    ("who", "offers", "why", "kind"),
    [
        (somebody("p", 9), [a_day(10, 1)], WhyNot.NO_DAY, MendKind.NEW_DAY),
        (somebody("p", 20), [a_day(10, 1, base="b", reaches="b")], WhyNot.NOT_REACHED, MendKind.REACH),
        (somebody("p", 20), [a_day(10, 0, base="b", reaches="b")], WhyNot.NOT_REACHED, MendKind.NEW_DAY),
        (somebody("p", 20), [a_day(10, 1, assessors="p")], WhyNot.OWN_ASSESSOR, MendKind.ANOTHER_ASSESSOR),
        (somebody("p", 20), [a_day(10, 1, assessors="")], WhyNot.NO_ASSESSOR, MendKind.ANOTHER_ASSESSOR),
        (somebody("p", 20), [a_day(10, 0)], WhyNot.FULL, MendKind.ONE_MORE_PLACE),
        (somebody("p", 20, away=(10,)), [a_day(10, 1)], WhyNot.AWAY, MendKind.NEW_DAY),
        (somebody("p", None), [], WhyNot.NO_DAY, MendKind.NEW_DAY),
        (somebody("p", -9), [a_day(3, 0)], WhyNot.FULL, MendKind.ONE_MORE_PLACE),
        (somebody("p", 9, away=tuple(range(10))), [], WhyNot.NO_DAY, MendKind.NEW_DAY),
    ],
)
def test_each_reason_has_its_smallest_mend(
    who: PersonDue, offers: list[SessionOffer], why: WhyNot, kind: MendKind
) -> None:
    (only,) = found([who], offers)
    assert (only.why, only.mend.kind) == (why, kind)


def test_somebody_placed_late_is_told_what_would_have_been_in_time() -> None:
    only, = found([somebody("p", 9)], [a_day(10, 1)])  # fmt: skip
    assert only.placed_late
