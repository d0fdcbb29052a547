"""What evidence says when it is taken away: one statement of everything on a person's record, exact to the byte."""

from __future__ import annotations

from datetime import UTC, date

from sqlalchemy import select

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.my_evidence import CompetencyEvidence, DecisionLine, EvidenceLine, my_evidence
from quizapp.services.person_standing import PersonStands, standing_of
from quizapp.store.columns import STORED_TIME
from quizapp.store.people import RescueBase, Service

FORMAT = "own-evidence-1"


def statement_bytes(act: Act, library: Library, *, code: str) -> bytes:
    """Return the statement of the actor's own evidence as it stands, under a check code as it is printed."""
    stands = standing_of(act, library, act.actor.person_id)
    person, base = stands.person, act.session.get_one(RescueBase, stands.person.base_id)
    service = act.session.scalars(select(Service)).one()
    statement: dict[str, JsonValue] = {
        "format": FORMAT,
        "code": code,
        "service": service.name,
        "is_invented": service.is_demo,
        "zone": act.zone.key,
        "made_at": act.now.astimezone(UTC).strftime(STORED_TIME),
        "made_on": act.today.isoformat(),
        "person": {
            "name": person.name,
            "staff_number": person.staff_number,
            "profession": person.profession,
            "base": base.name,
        },
        "standing": stands.report.standing.words,
        "sentence": stands.report.sentence,
        "conditions": list(stands.report.conditions),
        "standings": _standings(stands),
        "competencies": [_competency(one) for one in my_evidence(act, library)],
    }
    return canonical_bytes(statement)


def _standings(stands: PersonStands) -> list[JsonValue]:
    return [
        {
            "code": row.competency,
            "title": row.title,
            "device": str(row.profile),
            "standing": row.standing.words,
            "last_valid_day": _day(row.last_valid_day),
        }
        for row in stands.report.rows
    ]


def _competency(one: CompetencyEvidence) -> dict[str, JsonValue]:
    return {
        "code": one.code,
        "title": one.title,
        "standing": one.standing.words,
        "decisions": [_decision(line) for line in one.decisions],
        "evidence": [_evidence(line) for line in one.evidence],
    }


def _decision(line: DecisionLine) -> dict[str, JsonValue]:
    return {
        "outcome": line.outcome,
        "is_void": line.is_void,
        "last_valid_day": _day(line.last_valid_day),
        "device": line.device,
        "origin": line.origin,
        "decided_by": line.decided_by,
        "second_by": line.second_by,
        "decided_at": line.decided_on.astimezone(UTC).strftime(STORED_TIME),
        "reason": line.reason,
        "conditions": line.conditions,
        "receipt": line.receipt,
    }


def _evidence(line: EvidenceLine) -> dict[str, JsonValue]:
    return {
        "summary": line.summary,
        "shows": line.outcome.replace("_", " "),
        "happened_at": line.happened_at.astimezone(UTC).strftime(STORED_TIME),
        "from": line.source,
        "device": line.device,
        "counts": line.counts,
        "usable_until": _day(line.usable_until),
    }


def _day(value: date | None) -> str:
    return value.isoformat() if value else ""
