"""Days and names from files and forms, read strictly: what is not plainly one thing is refused with an example."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from zoneinfo import ZoneInfo

from quizapp.errors import BadInput

DAY_PATTERN = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
EARLIEST_YEAR = 1900
LATEST_YEAR = 2199
LONGEST_NAME = 200
LONGEST_NAME_BYTES = 800
JOINERS = "'\u2019\u02bc-\u2010\u2011. \u00b7\u30fb"
INVISIBLE_JOINERS = "\u200c\u200d"
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def parse_day(text: str, *, field: str = "") -> date:
    """Read a day written as YYYY-MM-DD with the digits 0-9; spaces around it are dropped.

    Years 1900 to 2199. Raises BadInput saying what was found and how to write it.
    Source: ISO 8601 calendar date, extended form.
    """
    stripped = text.strip(" \t\r\n")
    if not stripped:
        raise BadInput("No day was given. Write it as year-month-day, for example 2026-03-14.", field=field)
    if not DAY_PATTERN.fullmatch(stripped):
        raise BadInput(f"{_shown(stripped)} cannot be read as a day: {_hint(stripped)}", field=field)
    year, month, day = (int(part) for part in stripped.split("-"))
    if not EARLIEST_YEAR <= year <= LATEST_YEAR:
        raise BadInput(f"The year {year:04d} lies outside {EARLIEST_YEAR} to {LATEST_YEAR}.", field=field)
    try:
        return date(year, month, day)
    except ValueError:
        raise BadInput(f"There is no day {stripped} in the calendar.", field=field) from None


def _hint(text: str) -> str:
    if re.fullmatch(r"[0-9]{1,2}[/. -][0-9]{1,2}[/. -][0-9]{2,4}", text):
        return "day and month could be exchanged. Write year-month-day, for example 2026-04-03."
    if text.isascii():
        return "write year-month-day, for example 2026-03-14."
    return "use the digits 0-9 and write year-month-day, for example 2026-03-14."


def _shown(text: str) -> str:
    """Give the text as it may be shown back: short, and no control or direction characters."""
    kept = "".join(sign for sign in text if unicodedata.category(sign)[0] != "C")
    return f'"{kept[:40]}…"' if len(kept) > 40 else f'"{kept}"'


def day_in_words(day: date) -> str:
    """Write a day as "14 March 2027"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def local_day(minute_utc: datetime, zone: ZoneInfo) -> date:
    """Give the civil day of an instant in the service's zone; raises ValueError for a time without an offset."""
    if minute_utc.utcoffset() is None:
        raise ValueError("a time without an offset names no instant")
    return minute_utc.astimezone(zone).date()


def parse_name(text: str, *, field: str = "") -> str:
    """Read a printed name and give it in Unicode form NFC, inner spaces single; never split into parts.

    Any letters and marks, apostrophes, hyphens, full stops and spaces; 1 to 200 characters, at most 800 bytes.
    Raises BadInput naming what stands in the way.
    """
    for place, sign in enumerate(text.strip()):
        if not _may_be_written(sign) and not _joins_letters(text.strip(), place):
            raise BadInput(
                f"The name holds a character that cannot be printed (U+{ord(sign):04X}). Type it again.", field=field
            )
    name = unicodedata.normalize("NFC", " ".join(text.split()))
    if not name:
        raise BadInput("No name was given. One word is enough.", field=field)
    if len(name) > LONGEST_NAME or len(name.encode()) > LONGEST_NAME_BYTES:
        raise BadInput(f"The name has {len(name)} characters; {LONGEST_NAME} are the most.", field=field)
    strange = next((sign for sign in name if not _is_name_sign(sign)), None)
    if strange is not None:
        raise BadInput(
            f"A name is made of letters, marks, apostrophes, hyphens and spaces; {_shown(strange)} is none of these.",
            field=field,
        )
    if not any(unicodedata.category(sign)[0] == "L" for sign in name):
        raise BadInput("A name holds at least one letter.", field=field)
    return name


def _may_be_written(sign: str) -> bool:
    return sign == "\t" or unicodedata.category(sign) not in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def _joins_letters(text: str, place: int) -> bool:
    """Whether an invisible joiner stands between two letters, as some scripts write their names."""
    around = text[max(place - 1, 0) : place] + text[place + 1 : place + 2]
    return text[place] in INVISIBLE_JOINERS and len(around) == 2 and all(map(_is_letter_or_mark, around))


def _is_letter_or_mark(sign: str) -> bool:
    return unicodedata.category(sign)[0] in "LM"


def _is_name_sign(sign: str) -> bool:
    return _is_letter_or_mark(sign) or sign in JOINERS or sign in INVISIBLE_JOINERS


def name_search_key(name: str) -> str:
    """Give the form by which names are searched and compared: compatibility form, case folded, no joiners."""
    visible = "".join(sign for sign in name if sign not in INVISIBLE_JOINERS)
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", visible).casefold())
