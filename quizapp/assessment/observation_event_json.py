"""One event of an observation sheet as plain JSON values and back; what a device sends is read strictly."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.assessment.observation_state import StepMark
from quizapp.errors import BadInput

MAX_NOTE_CHARACTERS = 2000
MAX_LOT_CHARACTERS = 64
_ID = re.compile(r"[0-9a-f]{32}")
_DEVICE = re.compile(r"[0-9a-zA-Z-]{1,64}")
_LETTER = re.compile(r"[a-z]?")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)", re.ASCII)
_LARGEST = 2**53 - 1
_FIELDS = frozenset(ObservationEvent.__dataclass_fields__)


def event_to_json(event: ObservationEvent) -> dict[str, Any]:
    """The event as values that JSON can hold; fields that say nothing are left out."""
    values = {name: getattr(event, name) for name in sorted(_FIELDS)}
    values["device_time"] = event.device_time.astimezone(UTC).isoformat()
    return {name: _plain(value) for name, value in values.items() if value not in ("", None)}


def event_from_json(values: object) -> ObservationEvent:
    """Read one event as a device sent it.

    Ids: 32 hex digits (a UUID with or without hyphens); `sequence` and `elapsed_ms` whole numbers from 0;
    `device_time` ISO 8601 with an offset. Raises BadInput naming the field.
    """
    if not isinstance(values, Mapping):
        raise BadInput("An event has to be a table of names and values; this one was left out.", field="event")
    unknown = sorted(str(name) for name in values if name not in _FIELDS)
    if unknown:
        raise BadInput(f"An event has no field {unknown[0]!r}; this event was left out.", field="event")
    kind = _kind(values.get("kind"))
    event = ObservationEvent(
        event_id=_event_id(values, "event_id"),
        device_id=_matching(values, "device_id", _DEVICE, "letters, digits and hyphens, at most 64"),
        sequence=_whole(values, "sequence", _LARGEST),
        device_time=_time(values),
        kind=kind,
        step=_matching(values, "step", _LETTER, "the letter of a step"),
        mark=_mark(values.get("mark")),
        undoes=_event_id(values, "undoes") if kind is EventKind.UNDO else "",
        before=_matching(values, "before", _LETTER, "the letter of a step"),
        text=_text(values.get("text", "")),
        rating=_whole(values, "rating", 5, least=1) if kind is EventKind.RATING else None,
        seen=_seen(values.get("seen")) if kind is EventKind.SPOT_WORD else None,
        lot=_lot(values.get("lot")) if kind is EventKind.FAULT else "",
        elapsed_ms=_whole(values, "elapsed_ms", _LARGEST) if values.get("elapsed_ms") is not None else None,
    )
    return _complete(event)


def _complete(event: ObservationEvent) -> ObservationEvent:
    if event.kind in (EventKind.MARK, EventKind.PROMPT, EventKind.MOVE) and not event.step:
        raise _refused("step", f"missing in an event of kind {event.kind.value}")
    if event.kind is EventKind.MARK and event.mark is None:
        raise _refused("mark", "missing in an event of kind mark")
    if event.kind is EventKind.FAULT and not event.text.strip():
        raise _refused("text", "missing in a fault report: it has to say what was seen")
    return event


def _plain(value: object) -> object:
    return value.value if isinstance(value, EventKind | StepMark) else value


def _refused(field: str, words: str) -> BadInput:
    return BadInput(f"{field} is {words}; this event was left out, the others are kept.", field=field)


def _kind(value: object) -> EventKind:
    if isinstance(value, str) and value in set(EventKind):
        return EventKind(value)
    raise _refused("kind", f"{_shown(value)}, not one of {', '.join(EventKind)}")


def _mark(value: object) -> StepMark | None:
    if value in ("", None):
        return None
    if isinstance(value, str) and value in set(StepMark):
        return StepMark(value)
    raise _refused("mark", f"{_shown(value)}, not one of {', '.join(StepMark)}")


def _event_id(values: Mapping[str, object], field: str) -> str:
    value = values.get(field)
    plain = value.replace("-", "").lower() if isinstance(value, str) else ""
    if not _ID.fullmatch(plain):
        raise _refused(field, f"{_shown(value)}, not an id of 32 hex digits made on the device")
    return plain


def _matching(values: Mapping[str, object], field: str, pattern: re.Pattern[str], words: str) -> str:
    value = values.get(field, "")
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise _refused(field, f"{_shown(value)}, not {words}")
    return value


def _whole(values: Mapping[str, object], field: str, most: int, *, least: int = 0) -> int:
    value = values.get(field)
    if type(value) is not int or not least <= value <= most:
        raise _refused(field, f"{_shown(value)}, not a whole number from {least} to {most}")
    return value


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > MAX_NOTE_CHARACTERS or re.search("[\x00\ud800-\udfff]", value):
        raise _refused("text", f"not plain text of at most {MAX_NOTE_CHARACTERS} characters")
    return value


def _seen(value: object) -> bool:
    if type(value) is not bool:
        raise _refused("seen", f"{_shown(value)}, not true or false")
    return value


def _lot(value: object) -> str:
    plain = value.strip() if isinstance(value, str) else ""
    if not plain or len(plain) > MAX_LOT_CHARACTERS or re.search("[\x00\ud800-\udfff]", plain):
        raise _refused("lot", f"{_shown(value)}, not a lot number of 1 to {MAX_LOT_CHARACTERS} characters")
    return plain


def _time(values: Mapping[str, object]) -> datetime:
    value = values.get("device_time")
    words = f"{_shown(value)}, not a time with an offset such as 2027-03-14T09:30:00+00:00"
    if not isinstance(value, str) or not _TIME.fullmatch(value):
        raise _refused("device_time", words)
    try:
        return datetime.fromisoformat(value).astimezone(UTC)
    except (ValueError, OverflowError):
        raise _refused("device_time", words) from None


def _shown(value: object) -> str:
    return "missing" if value is None else ascii(value)[:60]
