"""The next shifts on the first page: when, as what, and what was done where nobody on the crew is current."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from quizapp.assessment.shift_answers import AnswerKind
from quizapp.services.shift_covers import AnswerSeen, ShiftSeen
from quizapp.web.filters import day, local_moment


def shown_shifts(shifts: Sequence[ShiftSeen], person_id: str, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Lay out one's own shifts; nothing is said of who else is current or not."""
    return [
        {
            "when": _when(shift, zone),
            "crew": shift.crew,
            "role": next(one.crew_role for one in shift.members if one.person_id == person_id),
            "notes": [_note(one) for one in shift.answers if one.stands],
            "is_open": shift.situation.needs_somebody,
        }
        for shift in shifts
    ]


def _when(shift: ShiftSeen, zone: ZoneInfo) -> str:
    start, end = shift.span.start.astimezone(zone), shift.span.end.astimezone(zone)
    return f"{start:%A} {day(start.date())}, {start:%H:%M} to {end:%H:%M}"


def _note(one: AnswerSeen) -> str:
    reason = f" {one.reason}" if one.reason else ""
    if one.kind is AnswerKind.SWAP:
        return f"{one.other} came for {one.person}.{reason}"
    if one.kind is AnswerKind.BRING_ASSESSOR:
        return f"An assessor, {one.other}, comes before the shift.{reason}"
    if one.kind is AnswerKind.RESTRICT_DEVICE and one.ends_at is not None:
        return f"The device is not used until {local_moment(one.ends_at)}; {one.authority} answers for it:{reason}"
    return f"Accepted by {one.authority}:{reason}"
