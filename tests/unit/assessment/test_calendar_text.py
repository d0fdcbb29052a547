"""Calendar files read back by an independent parser, and line by line against RFC 5545.

Reference: the icalendar library, which reads what it did not write.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from quizapp.assessment.calendar_text import (
    CalendarEvent,
    EventStatus,
    Method,
    calendar_file,
    escaped,
    folded,
)

LONDON = ZoneInfo("Europe/London")
WINTER = CalendarEvent(
    uid="place-1@thornmere",
    sequence=0,
    starts_at=datetime(2026, 12, 3, 9, 0, tzinfo=LONDON),
    ends_at=datetime(2026, 12, 3, 13, 0, tzinfo=LONDON),
    changed_at=datetime(2026, 11, 1, 8, 0, tzinfo=UTC),
    summary="Session day",
    location="Cairnlow",
    description="P06 watched.",
    status=EventStatus.CONFIRMED,
    organizer_name="Thornmere Isles Rescue",
    organizer_uri="urn:uuid:00000000-0000-0000-0000-000000000001",
)
TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="\u2028\u2029"))


def read(text: str) -> Calendar:
    return Calendar.from_ical(text)


def unfolded(text: str) -> list[str]:
    return text.replace("\r\n ", "").split("\r\n")


def test_an_event_comes_back_as_it_was_written() -> None:
    calendar = read(calendar_file([WINTER], name="Places of Mira"))
    assert calendar["VERSION"] == "2.0"
    assert calendar["X-WR-CALNAME"] == "Places of Mira"
    assert "METHOD" not in calendar
    (event,) = calendar.walk("VEVENT")
    assert event["UID"] == WINTER.uid
    assert event["SEQUENCE"] == 0
    assert event.decoded("DTSTART") == WINTER.starts_at
    assert event.decoded("DTEND") == WINTER.ends_at
    assert event.decoded("DTSTAMP") == WINTER.changed_at
    assert (event["SUMMARY"], event["LOCATION"], event["DESCRIPTION"]) == ("Session day", "Cairnlow", "P06 watched.")
    assert event["STATUS"] == "CONFIRMED"
    assert event["ORGANIZER"].params["CN"] == "Thornmere Isles Rescue"


def test_summer_time_is_written_as_the_instant_it_is() -> None:
    """British Summer Time: nine o'clock in July is eight in UTC, the same clock time in December is nine."""
    summer = replace(
        WINTER, starts_at=datetime(2026, 7, 2, 9, tzinfo=LONDON), ends_at=datetime(2026, 7, 2, 10, tzinfo=LONDON)
    )
    lines = unfolded(calendar_file([WINTER, summer], name="x"))
    assert [line for line in lines if line.startswith("DTSTART")] == [
        "DTSTART:20261203T090000Z", "DTSTART:20260702T080000Z"
    ]  # fmt: skip


def test_a_change_and_a_cancellation_keep_the_uid_and_raise_the_sequence() -> None:
    moved = replace(WINTER, sequence=1, starts_at=WINTER.starts_at + timedelta(hours=1))
    ended = replace(WINTER, sequence=2, status=EventStatus.CANCELLED)
    events = [read(calendar_file([one], name="x")).walk("VEVENT")[0] for one in (WINTER, moved, ended)]
    assert {str(one["UID"]) for one in events} == {WINTER.uid}
    assert [int(one["SEQUENCE"]) for one in events] == [0, 1, 2]
    assert [str(one["STATUS"]) for one in events] == ["CONFIRMED", "CONFIRMED", "CANCELLED"]
    cancelling = read(calendar_file([ended], name="x", method=Method.CANCEL))
    assert cancelling["METHOD"] == "CANCEL"
    assert str(cancelling.walk("VEVENT")[0]["ORGANIZER"]) == WINTER.organizer_uri


def test_text_is_escaped_as_the_standard_shows() -> None:
    """RFC 5545, 3.3.11: the example "Project XYZ Final Review / Conference Room - 3B / Come Prepared."""
    assert escaped("Project XYZ Final Review\nConference Room - 3B\nCome Prepared.") == (
        "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
    )
    assert escaped("a,b;c\\d\r\ne") == "a\\,b\\;c\\\\d\\ne"
    assert escaped("bell\x07 and \x00nothing") == "bell and nothing"


@given(TEXT, TEXT, TEXT)
def test_any_text_comes_back_and_injects_nothing(summary: str, location: str, name: str) -> None:
    text = calendar_file(
        [replace(WINTER, summary=summary, location=location, organizer_name=name)], name=name
    )  # fmt: skip
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    starts = [line for line in unfolded(text) if line.startswith(("BEGIN:", "END:"))]
    assert starts == ["BEGIN:VCALENDAR", "BEGIN:VEVENT", "END:VEVENT", "END:VCALENDAR"]
    (event,) = read(text).walk("VEVENT")
    assert str(event["SUMMARY"]) == summary
    assert str(event.get("LOCATION", "")) == location
    assert str(event["ORGANIZER"].params["CN"]) == name.replace('"', "'")


def test_lines_that_a_name_would_add_stay_inside_the_text() -> None:
    text = calendar_file([replace(WINTER, summary="x\r\nEND:VEVENT\r\nBEGIN:VEVENT")], name="x")
    assert len(read(text).walk("VEVENT")) == 1


def test_a_line_is_folded_after_75_octets_and_never_inside_a_character() -> None:
    """RFC 5545, 3.1: lines of at most 75 octets without the line break, which stands before one space."""
    for line in ("x" * 75, "x" * 76, "é" * 60, "x" + "𝄞" * 40):
        parts = folded(line).removesuffix("\r\n").split("\r\n")
        assert all(len(part.encode()) <= 75 for part in parts)
        assert "".join([parts[0], *(part[1:] for part in parts[1:])]) == line
        assert all(part.startswith(" ") for part in parts[1:])
    assert folded("x" * 75) == "x" * 75 + "\r\n"


@pytest.mark.parametrize(
    "event",
    [replace(WINTER, ends_at=WINTER.starts_at), replace(WINTER, starts_at=datetime(2026, 12, 3, 9))],  # noqa: DTZ001
)
def test_a_time_that_is_none_is_refused(event: CalendarEvent) -> None:
    with pytest.raises((ValueError, TypeError)):
        calendar_file([event], name="x")


def test_a_cancellation_names_events_and_who_holds_them() -> None:
    for events in ([], [replace(WINTER, organizer_uri="")]):
        with pytest.raises(ValueError, match="who holds them"):
            calendar_file(events, name="x", method=Method.CANCEL)
