"""Times as people write them, in a zone: the skipped hour and the hour that comes twice are never guessed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as some

from quizapp.assessment.local_times import at_time, parse_local_moment
from quizapp.errors import BadInput

ZONE = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("2026-03-06 19:00", "2026-03-06T19:00"),
        (" 2026-07-06T07:30 ", "2026-07-06T06:30"),
        ("2026-07-06 07:30:00", "2026-07-06T06:30"),
        ("2026-10-25 01:30+01:00", "2026-10-25T00:30"),
        ("2026-10-25 01:30+00:00", "2026-10-25T01:30"),
        ("2026-07-06 07:30Z", "2026-07-06T07:30"),
        ("2026-03-29 02:00", "2026-03-29T01:00"),
    ],
)
def test_written_times(text: str, utc: str) -> None:
    assert parse_local_moment(text, ZONE) == datetime.fromisoformat(f"{utc}+00:00")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "cannot be read as a time"),
        ("06/03/2026 19:00", "Write it like 2026-03-14 19:00"),
        ("2026-03-06 7:00", "cannot be read"),
        ("2026-03-06 24:00", "the day ends with 23:59"),
        ("2026-02-30 19:00", "no day 2026-02-30"),
        ("２０２６-03-06 19:00", "cannot be read"),
        ("2026-03-29 01:30", "The clock skips"),
        ("2026-10-25 01:30", "comes twice that night"),
        ("2026-10-25 01:30+02:00", "another offset"),
        ("2026-03-06 19:00+01:00", "another offset"),
    ],
)
def test_what_is_not_plainly_one_time_is_refused(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words) as refused:
        parse_local_moment(text, ZONE, field="starts")
    assert refused.value.field == "starts"


def test_the_message_names_both_offsets() -> None:
    with pytest.raises(BadInput, match=r"\+01:00 or \+00:00"):
        parse_local_moment("2026-10-25 01:30", ZONE)
    with pytest.raises(BadInput, match=r"-02:30 or -03:30"):
        parse_local_moment("2026-11-01 01:30", ZoneInfo("America/St_Johns"))


@given(some.integers(min_value=0, max_value=52_000_000))
def test_there_and_back(minutes: int) -> None:
    moment = datetime(2000, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    written = moment.astimezone(ZONE).strftime("%Y-%m-%d %H:%M%z")
    assert parse_local_moment(f"{written[:-2]}:{written[-2:]}", ZONE) == moment


def test_a_time_of_a_day() -> None:
    assert at_time(date(2026, 7, 6), 7, 30, ZONE) == datetime(2026, 7, 6, 6, 30, tzinfo=UTC)
