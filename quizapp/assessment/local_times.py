"""Times of day from files and forms, in the service's zone; the hour the clock skips or has twice is not guessed."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from quizapp.assessment.dates import parse_day
from quizapp.errors import BadInput

WRITTEN = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[ T]+([0-9]{2}):([0-9]{2})(?::00)?(Z|[+-][0-9]{2}:[0-9]{2})?")
EXAMPLE = "2026-03-14 19:00"


def parse_local_moment(text: str, zone: ZoneInfo, *, field: str = "") -> datetime:
    """Read "2026-03-14 19:00" as a time in the zone and give it in UTC; an offset such as +01:00 may follow.

    Raises BadInput for anything else, for a time the clock skips in spring, and for one it has twice in autumn unless
    an offset says which. Source: ISO 8601, extended form; time zone rules of the IANA database.
    """
    found = WRITTEN.fullmatch(text.strip())
    if found is None:
        raise BadInput(f'"{text.strip()[:40]}" cannot be read as a time. Write it like {EXAMPLE}.', field=field)
    day, hour, minute = parse_day(found[1], field=field), int(found[2]), int(found[3])
    if hour > 23 or minute > 59:
        raise BadInput(f"There is no time {found[2]}:{found[3]}; the day ends with 23:59.", field=field)
    local = datetime.combine(day, time(hour, minute))
    if found[4]:
        return _with_offset(local, found[4], zone, field)
    return _in_zone(local, zone, field)


def at_time(day: date, hour: int, minute: int, zone: ZoneInfo) -> datetime:
    """Give a time of a civil day in UTC, of two equal times the first; not for what people wrote."""
    return datetime.combine(day, time(hour, minute), zone).astimezone(UTC)


def _with_offset(local: datetime, offset: str, zone: ZoneInfo, field: str) -> datetime:
    moment = datetime.fromisoformat(f"{local.isoformat()}{'+00:00' if offset == 'Z' else offset}").astimezone(UTC)
    if offset != "Z" and moment.astimezone(zone).replace(tzinfo=None) != local:
        raise BadInput(f"{local:%Y-%m-%d %H:%M} has another offset than {offset} here.", field=field)
    return moment


def _in_zone(local: datetime, zone: ZoneInfo, field: str) -> datetime:
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None) != local:
        raise BadInput(f"The clock skips {local:%Y-%m-%d %H:%M}: it is set forward that night.", field=field)
    if first != second:
        offsets = " or ".join(_offset(local, zone, fold) for fold in (0, 1))
        raise BadInput(
            f"{local:%Y-%m-%d %H:%M} comes twice that night. Write which one you mean with {offsets} behind it.",
            field=field,
        )
    return first


def _offset(local: datetime, zone: ZoneInfo, fold: int) -> str:
    away = local.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta()
    minutes = int(away.total_seconds() // 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
