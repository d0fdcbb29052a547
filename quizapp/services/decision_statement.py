"""What an educator wants to decide, and the exact statement that is shown and signed for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.audit_chain import JsonValue
from quizapp.assessment.person_rules import needs_two_people
from quizapp.assessment.standing import Outcome, ProfileRevision
from quizapp.assessment.validity import last_valid_day
from quizapp.content.library import Library
from quizapp.errors import Conflict
from quizapp.services.act import Act
from quizapp.services.decision_desk import Desk

MEANING = {
    Outcome.COMPETENT: "I have looked at this evidence and decide that this person is competent in what is named here.",
    Outcome.NOT_YET: "I have looked at this evidence and decide that what is named here is not yet shown.",
    Outcome.RESTRICTED: "I have looked at this evidence and allow what is named here under the conditions stated.",
}


UNREADABLE = "What was shown cannot be read. Nothing was signed; open it again."
COUNTERSIGNS = "I have looked at this too, and I decide the same."


@dataclass(frozen=True, kw_only=True)
class DecisionWanted:
    """What the educator entered, on which device revision (None: the newest in the packs).

    A restriction needs conditions and its last day.
    """

    outcome: Outcome
    competencies: Sequence[str]
    reason: str
    conditions: str = ""
    restricted_until: date | None = None
    profile: ProfileRevision | None = None


def needs_second(before: Desk, wanted: DecisionWanted) -> bool:
    """Whether the decision turns a "not yet" into "competent" and so needs two people."""
    return any(needs_two_people(_previous(before, code), wanted.outcome) for code in wanted.competencies)


def _previous(before: Desk, competency: str) -> Outcome | None:
    rows = [
        row
        for row in before.decisions
        if row.competency == competency
        and row.voided_at is None
        and before.profile is not None
        and (row.profile_code, row.profile_revision) == (before.profile.code, before.profile.revision)
    ]
    newest = max(rows, key=lambda row: row.decided_at, default=None)
    return Outcome(newest.outcome) if newest else None


def statement_of(act: Act, library: Library, before: Desk, wanted: DecisionWanted) -> dict[str, JsonValue]:
    """Return what is shown and signed: text only, so that the same decision gives the same bytes."""
    if before.profile is None or before.standard is None:
        raise Conflict("No standard or no device revision is in force here, so nobody can be decided on.")
    readiness = {one.competency: one for one in before.readiness}
    months = {one.competency: one.validity_months for one in before.standard.requirements}
    return {
        "person_id": before.person.id,
        "person": f"{before.person.name}, {before.person.staff_number}",
        "base": before.base.name,
        "device": str(before.profile),
        "profile": before.profile.code,
        "profile_revision": before.profile.revision,
        "standard": f"{before.standard.name}, version {before.standard.version}",
        "outcome": wanted.outcome.value,
        "reason": wanted.reason.strip(),
        "conditions": wanted.conditions.strip() if wanted.outcome is Outcome.RESTRICTED else "",
        "decided_on": act.today.isoformat(),
        "meaning": MEANING[wanted.outcome],
        "needs_second": needs_second(before, wanted),
        "competencies": [
            {
                "code": code,
                "title": library.competencies[code].title,
                "last_valid_day": _last_day(act, before, wanted, code, months[code]),
                "evidence": [
                    {"id": part.reference, "words": before.evidence[part.reference].summary}
                    for part in readiness[code].parts
                    if part.reference is not None
                ],
            }
            for code in wanted.competencies
        ],
    }


def _last_day(act: Act, before: Desk, wanted: DecisionWanted, code: str, months: int) -> str:
    if wanted.outcome is Outcome.NOT_YET:
        return ""
    if wanted.outcome is Outcome.RESTRICTED:
        return wanted.restricted_until.isoformat() if wanted.restricted_until else ""
    ends = [
        row.last_valid_day
        for row in before.on_profile.rows
        if row.competency == code and row.profile == before.profile and row.last_valid_day is not None
    ]
    return last_valid_day(act.today, months, previous=max(ends) if ends else None).isoformat()


def wanted_from(statement: dict[str, JsonValue]) -> DecisionWanted:
    """Read back from a statement what was wanted."""
    outcome = Outcome(str(statement["outcome"]))
    entries = entries_of(statement)
    until = entries[0]["last_valid_day"] if outcome is Outcome.RESTRICTED else ""
    return DecisionWanted(
        outcome=outcome,
        competencies=[str(entry["code"]) for entry in entries],
        reason=str(statement["reason"]),
        conditions=str(statement["conditions"]),
        restricted_until=date.fromisoformat(str(until)) if until else None,
        profile=ProfileRevision(code=str(statement["profile"]), revision=_whole(statement["profile_revision"])),
    )


def _whole(value: JsonValue) -> int:
    if not isinstance(value, int):
        raise Conflict(UNREADABLE)
    return value


def as_mapping(value: JsonValue) -> dict[str, JsonValue]:
    """Return a part of a statement that must be a mapping; raises Conflict when it is not."""
    if not isinstance(value, dict):
        raise Conflict(UNREADABLE)
    return value


def entries_of(statement: dict[str, JsonValue]) -> list[dict[str, JsonValue]]:
    """Return the competencies a statement speaks of."""
    entries = statement["competencies"]
    if not isinstance(entries, list):
        raise Conflict(UNREADABLE)
    return [as_mapping(entry) for entry in entries]
