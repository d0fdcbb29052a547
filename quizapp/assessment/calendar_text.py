"""Writes calendar files: events in UTC with stable ids, text escaped, lines folded, changes and cancellations said.

Source: RFC 5545 (iCalendar), sections 3.1 (folding), 3.3.11 (text), 3.6.1 (events), 3.8.7.4 (sequence); RFC 5546, 3.2.5
(cancellation).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

LONGEST_LINE_BYTES = 75
LINE_END = "\r\n"
PRODUCT = "-//Transport ventilator assessment//Session days//EN"


class EventStatus(StrEnum):
    """Whether an event takes place."""

    CONFIRMED = "CONFIRMED"
    TENTATIVE = "TENTATIVE"
    CANCELLED = "CANCELLED"


class Method(StrEnum):
    """What a file is for: a calendar to be read again and again has none; a cancellation says so."""

    NONE = ""
    CANCEL = "CANCEL"


@dataclass(frozen=True, kw_only=True)
class CalendarEvent:
    """One event. `uid` never changes, `sequence` (0 or more) grows with each change; all times are aware.

    `changed_at` is when the event was last changed, `organizer_uri` the address of who holds it ("" for none).
    """

    uid: str
    sequence: int
    starts_at: datetime
    ends_at: datetime
    changed_at: datetime
    summary: str
    location: str
    description: str
    status: EventStatus
    organizer_name: str = ""
    organizer_uri: str = ""


def calendar_file(events: Sequence[CalendarEvent], *, name: str, method: Method = Method.NONE) -> str:
    """Write a whole calendar file; the events in the order given. `name` is what calendar programs show.

    A file with a method names the organizer of every event. Raises ValueError for a time without a zone, an end that is
    not after its start, a method without organizers or no event at all with a method.
    """
    if method is not Method.NONE and not (events and all(event.organizer_uri for event in events)):
        raise ValueError("a file that cancels names events, and who holds them")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        *([f"METHOD:{method.value}"] if method is not Method.NONE else []),
        f"X-WR-CALNAME:{escaped(name)}",
        *(line for event in events for line in _event_lines(event)),
        "END:VCALENDAR",
    ]
    return "".join(folded(line) for line in lines)


def _event_lines(event: CalendarEvent) -> Iterator[str]:
    if event.ends_at <= event.starts_at:
        raise ValueError(f"an event ends after it starts: {event.uid}")
    yield "BEGIN:VEVENT"
    yield f"UID:{escaped(event.uid)}"
    yield f"DTSTAMP:{utc(event.changed_at)}"
    yield f"LAST-MODIFIED:{utc(event.changed_at)}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"DTSTART:{utc(event.starts_at)}"
    yield f"DTEND:{utc(event.ends_at)}"
    yield f"SUMMARY:{escaped(event.summary)}"
    if event.location:
        yield f"LOCATION:{escaped(event.location)}"
    if event.description:
        yield f"DESCRIPTION:{escaped(event.description)}"
    if event.organizer_uri:
        yield f'ORGANIZER;CN="{_quoted(event.organizer_name)}":{event.organizer_uri}'
    yield f"STATUS:{event.status.value}"
    yield "TRANSP:OPAQUE" if event.status is EventStatus.CONFIRMED else "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def utc(moment: datetime) -> str:
    """Write a moment in UTC (form 2 of RFC 5545, 3.3.5); raises ValueError for one without a zone."""
    if moment.utcoffset() is None:
        raise ValueError(f"a time without a zone names no instant: {moment!r}")
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def escaped(text: str) -> str:
    """Write text as RFC 5545, 3.3.11 asks: backslash, comma, semicolon and line ends escaped, no other controls."""
    lined = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n").replace("\u2029", "\n")
    plain = _without_controls(lined, keep="\n\t")
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _quoted(text: str) -> str:
    """Write the value of a parameter in quotation marks, which may hold neither those nor controls."""
    return _without_controls(text).replace('"', "'")


def _without_controls(text: str, keep: str = "") -> str:
    return "".join(sign for sign in text if sign in keep or unicodedata.category(sign) not in {"Cc", "Cs"})


def folded(line: str) -> str:
    """Break a line after at most 75 octets, never inside a character, each part but the first after one space."""
    parts = list(_parts(line))
    return (LINE_END + " ").join(parts) + LINE_END


def _parts(line: str) -> Iterable[str]:
    part, size, room = "", 0, LONGEST_LINE_BYTES
    for sign in line:
        width = len(sign.encode())
        if size + width > room:
            yield part
            part, size, room = "", 0, LONGEST_LINE_BYTES - 1
        part, size = part + sign, size + width
    yield part
