"""Until when a sign-off holds."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.dates import local_day
from quizapp.assessment.validity import (
    add_months,
    days_left,
    first_day_of_renewal,
    is_lapsing,
    is_valid,
    last_valid_day,
)

DAYS = [date(2023, 1, 1) + timedelta(days=count) for count in range(366 + 5 * 365)]
MONTHS = st.integers(1, 60)


@pytest.mark.parametrize("months", [1, 3, 6, 12, 24])
def test_every_day_of_six_years_keeps_its_day_of_the_month_or_the_month_end(months):
    for day in DAYS:
        last = last_valid_day(day, months)
        assert (last.year * 12 + last.month) - (day.year * 12 + day.month) == months
        assert last.day == day.day or (last.day < day.day and (last + timedelta(days=1)).day == 1)


def test_every_day_of_six_years_a_year_on_is_365_or_366_days_away():
    for day in DAYS:
        leap_days = [
            date(year, 2, 29)
            for year in range(day.year, day.year + 2)
            if year % 4 == 0 and day < date(year, 2, 29) <= day.replace(year=day.year + 1, day=min(day.day, 28))
        ]
        expected = 365 if (day.month, day.day) == (2, 29) else 365 + len(leap_days)
        assert days_left(last_valid_day(day), day) == expected


@pytest.mark.parametrize(
    ("day", "months", "last"),
    [
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2027, 2, 28), 12, date(2028, 2, 28)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 3, 14), 12, date(2027, 3, 14)),
    ],
)
def test_month_ends_and_29_february(day, months, last):
    assert last_valid_day(day, months) == last


@given(st.sampled_from(DAYS), st.sampled_from(DAYS), MONTHS)
def test_a_renewal_never_loses_days_to_being_early_and_never_gains_by_being_late(previous, decided, months):
    renewed = last_valid_day(decided, months, previous=previous)
    left = days_left(previous, decided)
    if 0 <= left <= 60:
        assert renewed == add_months(previous, months)
        assert renewed >= last_valid_day(decided, months)
    else:
        assert renewed == last_valid_day(decided, months)


@given(st.sampled_from(DAYS), st.sampled_from(DAYS))
def test_the_last_day_is_inside_and_the_next_one_outside(last, today):
    assert is_valid(last, last)
    assert not is_valid(last, last + timedelta(days=1))
    assert is_valid(last, today) == (days_left(last, today) >= 0)
    assert is_lapsing(last, today) == (first_day_of_renewal(last) <= today <= last)


@pytest.mark.parametrize(("left", "lapsing"), [(-1, False), (0, True), (60, True), (61, False)])
def test_the_lapsing_days(left, lapsing):
    assert is_lapsing(date(2026, 6, 30), date(2026, 6, 30) - timedelta(days=left)) is lapsing


def test_a_validity_out_of_range_is_refused():
    for months in (0, -1, 61):
        with pytest.raises(ValueError, match="months"):
            last_valid_day(date(2026, 1, 1), months)


@pytest.mark.parametrize(
    ("minute", "zone", "day"),
    [
        ("2026-03-29T00:30:00+00:00", "Europe/London", date(2026, 3, 29)),
        ("2026-03-28T23:59:00+00:00", "Europe/London", date(2026, 3, 28)),
        ("2026-06-30T23:30:00+00:00", "Europe/London", date(2026, 7, 1)),
        ("2026-10-25T23:30:00+00:00", "Europe/London", date(2026, 10, 25)),
        ("2026-07-01T11:30:00+00:00", "Pacific/Auckland", date(2026, 7, 1)),
        ("2026-07-01T12:30:00+00:00", "Pacific/Auckland", date(2026, 7, 2)),
        ("2026-04-23T22:30:00+00:00", "Africa/Cairo", date(2026, 4, 24)),
    ],
)
def test_the_civil_day_follows_the_service_clock(minute, zone, day):
    assert local_day(datetime.fromisoformat(minute), ZoneInfo(zone)) == day


@given(st.integers(0, 6 * 366 * 24 * 60), st.sampled_from(["Europe/London", "Asia/Kathmandu"]))
def test_the_civil_day_never_goes_back_even_when_the_clock_does(minutes, zone):
    minute = datetime(2024, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    here = ZoneInfo(zone)
    assert local_day(minute, here) <= local_day(minute + timedelta(minutes=1), here)


def test_a_time_without_an_offset_names_no_instant():
    with pytest.raises(ValueError, match="offset"):
        local_day(datetime(2026, 1, 1), ZoneInfo("Europe/London"))  # noqa: DTZ001 - refused on purpose
