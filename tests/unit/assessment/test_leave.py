"""Long leave stops the clock, worked day by day by hand; shorter leave moves nothing; a return is completed."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.leave import awaits_return, is_long, last_day_at_last, on_the_clock
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing import (
    Decision,
    InService,
    Outcome,
    Pause,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    StandingRecord,
    standing,
)
from quizapp.assessment.standing_ahead import standings_within
from tests.small_service import ZONE

DEVICE = ProfileRevision(code="TV-A", revision=1)
JANUARY, APRIL = date(2026, 1, 1), date(2026, 4, 1)


def decision(last: date = date(2026, 6, 30), outcome: Outcome = Outcome.COMPETENT) -> Decision:
    return Decision(
        reference="d", competency="C5", profile=DEVICE, outcome=outcome,
        decided_at=datetime(2025, 6, 30, 12, tzinfo=UTC), valid_from=date(2025, 6, 30), last_valid_day=last,
        conditions="" if outcome is Outcome.COMPETENT else "by day",
    )  # fmt: skip


def away(first: date = JANUARY, last: date | None = date(2026, 4, 30), back: date | None = None) -> Pause:
    return Pause(from_day=first, until_day=last, return_completed_on=back)


def record(*pauses: Pause, one: Decision | None = None, endings: tuple[datetime, ...] = ()) -> StandingRecord:
    return StandingRecord(
        required=(RequiredCompetency(code="C5", is_critical=True),),
        in_service=(InService(profile=DEVICE, from_day=date(2025, 1, 1)),),
        decisions=(one or decision(),),
        pauses=pauses,
        endings=endings,
    )


def stands(what: StandingRecord, day: date) -> tuple[PersonStanding, int | None]:
    report = standing(what, datetime(day.year, day.month, day.day, 12, tzinfo=UTC), ZONE)
    return report.standing, report.rows[0].days_left


@pytest.mark.parametrize(
    ("first", "last", "long"),
    [
        (JANUARY, date(2026, 3, 31), False),
        (JANUARY, APRIL, True),
        (date(2025, 11, 30), date(2026, 2, 27), False),
        (date(2025, 11, 30), date(2026, 2, 28), True),  # three months from the 30th end on the last of February
        (JANUARY, None, True),
    ],
)
def test_longer_than_three_months_is_long(first: date, last: date | None, long: bool) -> None:
    assert is_long(first, last) is long


def test_the_days_left_are_the_same_before_during_and_after() -> None:
    """On 31 December 181 days are left to 30 June; on each day of leave and on the first day back it is 180."""
    long = record(away())
    assert stands(long, date(2025, 12, 31)) == (PersonStanding.CURRENT, 181)
    assert {stands(long, JANUARY + timedelta(days=days)) for days in range(120)} == {(PersonStanding.PAUSED, 181)}
    assert stands(long, date(2026, 5, 1)) == (PersonStanding.RESTRICTED, 180)


def test_the_last_day_moves_by_the_days_away() -> None:
    moved = on_the_clock(decision(), [away()], date(2026, 5, 1))
    assert moved.last_valid_day == date(2026, 6, 30) + timedelta(days=120)  # 31 + 28 + 31 + 30
    assert last_day_at_last(decision(), [away()]) == moved.last_valid_day


def test_shorter_leave_moves_nothing() -> None:
    short = record(away(last=date(2026, 3, 31)))
    assert stands(short, date(2026, 3, 31)) == (PersonStanding.PAUSED, 91)
    assert stands(short, APRIL) == (PersonStanding.CURRENT, 90)


def test_what_had_lapsed_before_stays_lapsed() -> None:
    lapsed = record(away(), one=decision(last=date(2025, 12, 31)))
    assert stands(lapsed, date(2026, 5, 1))[0] is PersonStanding.LAPSED


def test_the_last_valid_day_on_the_first_day_of_leave_still_counts() -> None:
    just = record(away(back=date(2026, 5, 1)), one=decision(last=JANUARY))
    assert stands(just, date(2026, 5, 1)) == (PersonStanding.LAPSING, 0)
    assert stands(just, date(2026, 5, 2)) == (PersonStanding.LAPSED, -1)


def test_a_sign_off_given_during_leave_gains_only_the_days_it_held() -> None:
    given_in_april = Decision(
        reference="d", competency="C5", profile=DEVICE, outcome=Outcome.COMPETENT,
        decided_at=datetime(2026, 4, 21, 12, tzinfo=UTC), valid_from=date(2026, 4, 21),
        last_valid_day=date(2027, 4, 21),
    )  # fmt: skip
    assert on_the_clock(given_in_april, [away()], date(2026, 6, 1)).last_valid_day == date(2027, 5, 1)


def test_a_restriction_keeps_its_end() -> None:
    restricted = decision(outcome=Outcome.RESTRICTED)
    assert on_the_clock(restricted, [away()], date(2026, 6, 1)) == restricted


def test_days_covered_twice_count_once() -> None:
    twice = [away(), away(first=date(2026, 1, 15), last=date(2026, 5, 10))]
    assert on_the_clock(decision(), twice, date(2026, 6, 1)).last_valid_day == date(2026, 6, 30) + timedelta(days=130)


def test_after_long_leave_one_is_restricted_until_the_return_is_complete() -> None:
    waiting = record(away())
    for days in (0, 30, 400):
        assert awaits_return(waiting.pauses, date(2026, 5, 1) + timedelta(days=days)) == date(2026, 5, 1)
    assert stands(waiting, date(2026, 9, 1))[0] is PersonStanding.RESTRICTED
    sentence = standing(waiting, datetime(2026, 5, 1, 12, tzinfo=UTC), ZONE)
    assert sentence.sentence == (
        "Restricted since 1 May 2026. Back from long leave: works with a current colleague until the return is "
        "complete."
    )
    assert sentence.conditions == ("Back from long leave: works with a current colleague until the return is complete",)
    complete = record(away(back=date(2026, 5, 20)))
    assert stands(complete, date(2026, 5, 19))[0] is PersonStanding.RESTRICTED
    assert stands(complete, date(2026, 5, 20)) == (PersonStanding.CURRENT, 161)


def test_short_leaves_one_after_the_other_are_one_long_leave_for_the_return() -> None:
    """They move no day, since neither was long; but somebody away so long comes back by the same path."""
    two = (away(last=date(2026, 2, 28)), away(first=date(2026, 3, 1), last=date(2026, 4, 30)))
    assert awaits_return(two, date(2026, 5, 1)) == date(2026, 5, 1)
    assert on_the_clock(decision(), two, date(2026, 5, 1)) == decision()
    apart = (away(last=date(2026, 2, 28)), away(first=date(2026, 3, 2), last=date(2026, 4, 30)))
    assert awaits_return(apart, date(2026, 5, 1)) is None


def test_nothing_from_before_the_end_holds_after_it() -> None:
    ended = datetime(2026, 2, 1, 9, tzinfo=UTC)
    what = record(endings=(ended,))
    assert stands(what, date(2026, 1, 31))[0] is PersonStanding.CURRENT
    report = standing(what, ended, ZONE)
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert report.sentence.startswith("Not yet signed off: the standing ended on 1 February 2026")
    assert standing(what, ended - timedelta(seconds=1), ZONE).standing is PersonStanding.CURRENT


@given(
    st.lists(st.tuples(st.integers(0, 500), st.integers(0, 200)), max_size=3),
    st.integers(0, 400),
    st.integers(0, 700),
)
def test_the_days_left_never_grow_as_time_goes_by(leaves: list[tuple[int, int]], validity: int, start: int) -> None:
    pauses = [
        away(first=JANUARY + timedelta(days=begin), last=JANUARY + timedelta(days=begin + length))
        for begin, length in leaves
    ]
    one = Decision(
        reference="d", competency="C5", profile=DEVICE, outcome=Outcome.COMPETENT,
        decided_at=datetime(2026, 1, 1, tzinfo=UTC), valid_from=JANUARY,
        last_valid_day=JANUARY + timedelta(days=validity),
    )  # fmt: skip
    left = []
    for days in range(start, start + 60):
        day = JANUARY + timedelta(days=days)
        last = on_the_clock(one, pauses, day).last_valid_day
        assert last is not None
        left.append((last - day).days)
    assert all(later <= earlier for earlier, later in itertools.pairwise(left))


def test_looking_ahead_knows_the_days_that_leave_moves() -> None:
    """From the end of December on: paused, back and restricted, complete, lapsing, lapsed; each on its moved day."""
    what = record(away(back=date(2026, 5, 20)))
    required = [(date(2025, 1, 1), what.required)]
    within = Span(datetime(2025, 12, 20, 12, tzinfo=UTC), datetime(2027, 3, 1, 12, tzinfo=UTC))
    found = []
    for one in standings_within(what, required, within, ZONE):
        if not found or found[-1][1] is not one.report.standing:
            found.append((one.from_at.astimezone(ZONE).date(), one.report.standing))
    moved = date(2026, 6, 30) + timedelta(days=120)
    assert found == [
        (date(2025, 12, 20), PersonStanding.CURRENT),
        (JANUARY, PersonStanding.PAUSED),
        (date(2026, 5, 1), PersonStanding.RESTRICTED),
        (date(2026, 5, 20), PersonStanding.CURRENT),
        (moved - timedelta(days=60), PersonStanding.LAPSING),
        (moved + timedelta(days=1), PersonStanding.LAPSED),
    ]
