"""A base counted plainly, who lapses next, and how many will be current."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.readiness import Outlook, PersonHere, Readiness, forecast, readiness
from quizapp.assessment.standing import (
    Decision,
    InService,
    NextWhat,
    Outcome,
    Pause,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    StandingRecord,
    standing,
)

ZONE = ZoneInfo("Europe/London")
TODAY = date(2026, 5, 1)
TV_A_2 = ProfileRevision(code="TV-A", revision=2)
REQUIRED = (RequiredCompetency(code="C3", is_critical=True), RequiredCompetency(code="C7", is_critical=False))


def person(name: str, c3_days: int | None, c7_days: int | None = 300, *, is_paused: bool = False) -> PersonHere:
    """Invent somebody whose sign-offs end so many days from today (negative: ended, None: never signed off)."""
    decisions = tuple(
        Decision(
            reference=code,
            competency=code,
            profile=TV_A_2,
            outcome=Outcome.COMPETENT,
            decided_at=datetime(2025, 6, 1, tzinfo=UTC),
            valid_from=date(2025, 6, 1),
            last_valid_day=TODAY + timedelta(days=days),
        )
        for code, days in (("C3", c3_days), ("C7", c7_days))
        if days is not None
    )
    record = StandingRecord(
        required=REQUIRED,
        in_service=(InService(profile=TV_A_2, from_day=date(2025, 1, 1)),),
        decisions=decisions,
        pauses=(Pause(from_day=TODAY),) if is_paused else (),
    )
    report = standing(record, datetime(2026, 5, 1, 12, tzinfo=UTC), ZONE)
    return PersonHere(person_id=name.lower(), name=name, report=report)


def base(*people: PersonHere) -> Readiness:
    return readiness(people, TODAY)


def test_a_base_is_counted_plainly():
    found = base(
        person("Ada", 200),
        person("Bo", 29),
        person("Cy", 75),
        person("Di", -1),
        person("Ed", 200, -1),
        person("Flo", None),
        person("Gus", 200, is_paused=True),
    )
    assert (found.in_date, found.people) == (3, 7)
    assert found.counts[PersonStanding.CURRENT] == 2
    assert found.counts[PersonStanding.LAPSING] == 1
    assert dict(found.ending_within) == {30: 1, 60: 1, 90: 2}
    assert found.headline == (
        "3 of 7 are current; 1 paused, 1 lapsed, 1 restricted, 1 not yet signed off. "
        "1 stops being current within 30 days unless renewed, the first after 30 May 2026."
    )
    assert "%" not in found.headline
    assert [one.name for one in found.not_in_date] == ["Di", "Ed", "Flo", "Gus"]


@pytest.mark.parametrize(
    ("days", "within"),
    [(0, {30: 1, 60: 1, 90: 1}), (30, {30: 1, 60: 1, 90: 1}), (31, {30: 0, 60: 1, 90: 1}), (91, {30: 0, 60: 0, 90: 0})],
)
def test_the_windows_include_their_last_day(days, within):
    assert dict(base(person("Ada", days)).ending_within) == within


def test_who_lapses_first_comes_first_with_the_smallest_act_that_helps():
    found = base(person("Ada", 80, 70), person("Bo", 20), person("Cy", 20, 20), person("Di", 200))
    assert [(one.name, one.days_left, one.ending) for one in found.ahead] == [
        ("Bo", 20, 1),
        ("Cy", 20, 2),
        ("Ada", 70, 2),
    ]
    step = found.ahead[2].next_step
    assert (step.what, step.competency, step.by_day) == (NextWhat.RENEW, "C7", TODAY + timedelta(days=70))
    assert found.ahead[1].next_step.competency == "C3"


def test_each_competency_is_counted_k_of_n():
    found = base(person("Ada", 200), person("Bo", 20, -5), person("Cy", None, None))
    assert [(one.competency, one.words, one.ending_in_90_days) for one in found.competencies] == [
        ("C3", "2 of 3", 1),
        ("C7", "1 of 3", 0),
    ]


def test_an_empty_base_and_a_quiet_one():
    assert base().headline == "Nobody belongs to this base yet."
    assert base(person("Ada", 200)).headline == ("1 of 1 is current. Nobody's last valid day comes within 90 days.")


def test_reports_of_another_day_are_refused():
    with pytest.raises(ValueError, match="another day"):
        readiness([person("Ada", 200)], TODAY + timedelta(days=1))


DAYS = st.none() | st.integers(-40, 300)


@given(st.lists(st.tuples(DAYS, DAYS, st.booleans()), max_size=8))
def test_everybody_is_counted_once(people):
    found = base(*(person(f"P{place}", c3, c7, is_paused=away) for place, (c3, c7, away) in enumerate(people)))
    assert sum(found.counts.values()) == found.people == len(people)
    assert found.in_date + len(found.not_in_date) == found.people
    assert found.ending_within[30] <= found.ending_within[60] <= found.ending_within[90] == len(found.ahead)
    assert len(found.ahead) <= found.in_date
    assert found.ending_within[60] == found.counts[PersonStanding.LAPSING]


EXPIRY_DAYS = (12, 20, 33, 45, 60, 75, 90, 120, 150, 200, 260, 330)


def outlooks(*booked: int) -> list[Outlook]:
    return [
        Outlook(
            last_valid_day=TODAY + timedelta(days=days),
            booked_on=TODAY + timedelta(days=days - 3) if days in booked else None,
            pass_fraction=0.9,
        )
        for days in EXPIRY_DAYS
    ]


@pytest.mark.parametrize(("day", "number"), [(0, 12), (30, 10), (60, 8), (90, 6), (180, 3)])
def test_without_renewals_the_number_falls_as_in_the_worked_example(day, number):
    """Our own worked example: twelve people, the last valid day counts as current."""
    found = forecast(outlooks(), TODAY + timedelta(days=day), needed=number)
    assert (found.sure, found.expected, found.enough_fraction) == (number, number, 1.0)
    assert not found.rests_on_guesses


def test_three_booked_renewals_as_in_the_worked_example():
    """Mean 8.7, standard deviation .52, at least 8 with .972: computed by hand, 1 - .1^3 - 3 x .9 x .1^2."""
    found = forecast(outlooks(33, 45, 60), TODAY + timedelta(days=90), needed=8)
    assert found.expected == pytest.approx(8.7, abs=1e-9)
    assert found.standard_deviation == pytest.approx(0.52, abs=0.0005)
    assert found.enough_fraction == pytest.approx(0.972, abs=1e-6)
    assert found.rests_on_guesses


def test_a_booking_helps_only_once_its_day_has_come():
    late = Outlook(last_valid_day=TODAY, booked_on=TODAY + timedelta(days=5), pass_fraction=0.5)
    assert [late.current_on(TODAY + timedelta(days=days)) for days in (0, 1, 4, 5)] == [1.0, 0.0, 0.0, 0.5]
    assert Outlook(last_valid_day=None).current_on(TODAY) == 0.0
