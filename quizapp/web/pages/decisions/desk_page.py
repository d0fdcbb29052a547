"""What the decision desk shows, laid out for its templates."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from flask import url_for

from quizapp.assessment.audit_chain import JsonValue
from quizapp.assessment.sign_off_record import EvidenceKind
from quizapp.assessment.standing import ProfileRevision
from quizapp.errors import NotFound
from quizapp.services.decision_desk import Desk
from quizapp.services.decision_statement import entries_of
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
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
            "href": url_for("decisions.show", person_id=one.person.id, device=_other_device(one)),
            "is_shown": one.missing_count == 0,
            "current": one.person.id == current,
        }
        for one in desks
    ]


def _waiting_words(one: Desk) -> str:
    parts = "nothing missing" if not one.missing_count else f"{one.missing_count} parts missing"
    if one.missing_count == 1:
        parts = "1 part missing"
    device = f", {one.profile}" if len(one.profiles) > 1 else ""
    return f"{one.base.name}{device}, {parts}"


def device_code(profile: ProfileRevision | None) -> str:
    """Write a device revision as it stands in an address."""
    return f"{profile.code}.{profile.revision}" if profile else ""


def read_profile(text: str) -> ProfileRevision | None:
    """Read a device revision from an address, None where none is named; raises NotFound for anything else."""
    if not text:
        return None
    code, _, revision = text.rpartition(".")
    if not code or not revision.isascii() or not revision.isdigit() or len(text) > 70:
        raise NotFound("There is no such device revision.")
    return ProfileRevision(code=code, revision=int(revision))


def _other_device(one: Desk) -> str | None:
    """Name the revision in the address only where it is not the one the desk opens with."""
    return device_code(one.profile) if one.profile and one.profile != one.profiles[0] else None


def device_links(page: Desk) -> list[dict[str, Any]]:
    """Return the other revisions that may be decided on, an empty list where there is but one."""
    return [
        {"words": str(one), "href": url_for("decisions.show", person_id=page.person.id, device=device_code(one))}
        for one in page.profiles
        if one != page.profile
    ]


def decided_rows(page: Desk, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return the decisions taken, the newest first, with the page of each."""
    replaced = {row.replaces_id for row in page.decisions}
    return [
        {
            "words": f"{row.competency}: {row.outcome.replace('_', ' ')}",
            "soft": f"{row.profile_code} revision {row.profile_revision}, {short_day(_day_of(row, zone))}"
            + (f", until {short_day(row.last_valid_day)}" if row.last_valid_day else ""),
            "end": "void" if row.voided_at else ("amended since" if row.id in replaced else ""),
            "href": url_for("decisions.one", decision_id=row.id),
        }
        for row in sorted(page.decisions, key=lambda row: row.decided_at, reverse=True)
    ]


def _day_of(row: Decision, zone: ZoneInfo) -> date:
    return row.decided_at.astimezone(zone).date()


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
                    "href": _page_of(evidence),
                    "by": short_day(happened),
                    "is_shown": part.is_present,
                    "next": "" if part.is_present else part.why,
                }
            )
    return sorted(rows, key=lambda row: bool(row["is_shown"]))


def _page_of(evidence: Evidence | None) -> str:
    """Return the page on which an observation or a discussion is read whole, "" where there is none."""
    kind = evidence.kind if evidence else ""
    if evidence and kind == EvidenceKind.DISCUSSION:
        return url_for("discussions.show", discussion_id=evidence.source_id)
    if evidence and kind == EvidenceKind.OBSERVATION:
        return url_for("observe.result", observation_id=evidence.source_id)
    return ""


def days_in(statement: dict[str, JsonValue]) -> dict[str, str]:
    """Return the days of a statement as people read them: by competency the last valid one ("" for none), and "on"."""
    days = {str(entry["code"]): str(entry["last_valid_day"]) for entry in entries_of(statement)}
    days["on"] = str(statement["decided_on"])
    return {name: day(date.fromisoformat(text)) if text else "" for name, text in days.items()}
