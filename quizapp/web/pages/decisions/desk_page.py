"""What the decision desk shows, laid out for its templates."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from flask import url_for

from quizapp.assessment.audit_chain import JsonValue
from quizapp.services.decision_desk import Desk
from quizapp.services.decision_statement import entries_of
from quizapp.web.filters import day, short_day


def desk_finding(page: Desk) -> str:
    """Return the finding of one person's desk in one sentence."""
    first_missing = next(
        (f"{one.competency}, {part.words}" for one in page.open_rows for part in one.parts if not part.is_present), ""
    )
    if not page.open_rows:
        return f"{page.person.name} needs no decision now."
    if page.missing_count == 0:
        return "Nothing is missing."
    if page.missing_count == 1:
        return f"One part is missing: {first_missing}."
    return f"{page.missing_count} parts are missing, first {first_missing}."


def waiting_rows(desks: Sequence[Desk], current: str = "") -> list[dict[str, Any]]:
    """Return the list of waiting people."""
    return [
        {
            "name": one.person.name,
            "words": _waiting_words(one),
            "href": url_for("decisions.show", person_id=one.person.id),
            "is_shown": one.missing_count == 0,
            "current": one.person.id == current,
        }
        for one in desks
    ]


def _waiting_words(one: Desk) -> str:
    parts = "nothing missing" if not one.missing_count else f"{one.missing_count} parts missing"
    if one.missing_count == 1:
        parts = "1 part missing"
    return f"{one.base.name}, {parts}"


def against_rows(page: Desk, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return each required part with what is on record, what is missing first."""
    rows = []
    for one in page.open_rows:
        for part in one.parts:
            evidence = page.evidence.get(part.reference or "")
            happened: date | None = evidence.happened_at.astimezone(zone).date() if evidence else None
            rows.append(
                {
                    "required": f"{one.competency}, {part.words}",
                    "rule": "critical" if one.is_critical else "",
                    "record": evidence.summary if evidence else "nothing that counts",
                    "by": short_day(happened),
                    "is_shown": part.is_present,
                    "next": "" if part.is_present else part.why,
                }
            )
    return sorted(rows, key=lambda row: bool(row["is_shown"]))


def days_in(statement: dict[str, JsonValue]) -> dict[str, str]:
    """Return the days of a statement as people read them: by competency the last valid one ("" for none), and "on"."""
    days = {str(entry["code"]): str(entry["last_valid_day"]) for entry in entries_of(statement)}
    days["on"] = str(statement["decided_on"])
    return {name: day(date.fromisoformat(text)) if text else "" for name, text in days.items()}
