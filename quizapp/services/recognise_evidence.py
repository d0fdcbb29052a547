"""An educator reads outside evidence and recognises it, or does not, competency by competency; it signs nobody off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.sign_off_record import EvidenceKind, EvidenceOutcome
from quizapp.assessment.validity import add_months
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record_many
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.fair_paths import person_on_path
from quizapp.store.evidence import Evidence

LONGEST_RECOGNISED_MONTHS = 12
SHORTEST_WORDS = 10
LONGEST_WORDS = 1000


@dataclass(frozen=True, kw_only=True)
class OutsideEvidence:
    """What was read: in words, for which competencies it is recognised until which day, for which it is not."""

    words: str
    recognised: Sequence[str]
    not_recognised: Sequence[str]
    last_valid_day: date | None


def recognise_evidence(act: Act, library: Library, *, person_id: str, outside: OutsideEvidence) -> tuple[str, ...]:
    """Write a row of evidence for each competency named and return their ids.

    Recognised, it stands for what was shown elsewhere until its last valid day (at most 12 months), on the revision
    in service here; what the standard wants observed here is still to be observed. Not recognised, it speaks neither
    for nor against. Raises NotFound, NotAllowed, BadInput naming the field.
    """
    person = person_on_path(act, person_id)
    _check(act, library, outside)
    in_service = revisions_in_service(act, [person.base_id])[person.base_id]
    if not in_service:
        raise BadInput("No device is in service at this base, so nothing can be recognised for it.", field="words")
    rows = [
        _row(act, person_id, code, outside, device=in_service[-1], is_recognised=code in outside.recognised)
        for code in library.competencies
        if code in {*outside.recognised, *outside.not_recognised}
    ]
    act.session.add_all(rows)
    record_many(
        act,
        [
            Entry(
                event=(
                    AuditEvent.EVIDENCE_RECOGNISED
                    if row.outcome == EvidenceOutcome.SHOWN
                    else AuditEvent.EVIDENCE_REFUSED
                ),
                object_type="evidence",
                object_id=row.id,
                person_id=person_id,
                thing=row.competency,
                after={"until": row.details["last_valid_day"]},
            )
            for row in rows
        ],
    )
    return tuple(row.id for row in rows)


def _check(act: Act, library: Library, outside: OutsideEvidence) -> None:
    named = {*outside.recognised, *outside.not_recognised}
    if not named:
        raise BadInput("Say it for at least one competency.", field="recognised")
    if set(outside.recognised) & set(outside.not_recognised):
        raise BadInput("A competency is either recognised or not.", field="not_recognised")
    if not named <= set(library.competencies):
        raise BadInput("Choose competencies of this service.", field="recognised")
    if not SHORTEST_WORDS <= len(outside.words.strip()) <= LONGEST_WORDS:
        raise BadInput(f"Say what you read in {SHORTEST_WORDS} to {LONGEST_WORDS} characters.", field="words")
    latest = add_months(act.today, LONGEST_RECOGNISED_MONTHS)
    if outside.recognised and (outside.last_valid_day is None or not act.today <= outside.last_valid_day <= latest):
        message = f"Recognised evidence has a last valid day between today and {latest.isoformat()}."
        raise BadInput(message, field="last_valid_day")


def _row(
    act: Act, person_id: str, code: str, outside: OutsideEvidence, *, device: tuple[str, int], is_recognised: bool
) -> Evidence:
    last_day = outside.last_valid_day if is_recognised else None
    said = "recognised" if is_recognised else "not recognised"
    return Evidence(
        id=act.randomness.new_id(),
        person_id=person_id,
        competency=code,
        kind=EvidenceKind.RECOGNISED.value,
        source_id=act.randomness.new_id(),
        procedure=None,
        outcome=(EvidenceOutcome.SHOWN if is_recognised else EvidenceOutcome.INCOMPLETE).value,
        summary=f"Outside evidence, {said}: {outside.words.strip()}",
        counts_for_sign_off=True,
        profile_code=device[0],
        profile_revision=device[1],
        assessor_id=act.actor.person_id,
        details={"last_valid_day": last_day.isoformat() if last_day else ""},
        happened_at=act.now,
        recorded_at=act.now,
    )
