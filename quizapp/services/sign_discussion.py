"""Signs a structured discussion: shown first, then signed with the password, then written as evidence."""

from __future__ import annotations

from quizapp.assessment.audit_chain import JsonValue
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.person_rules import Denied, may_discuss
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off_record import EvidenceKind, EvidenceOutcome
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.assessor_currency import AssessorCurrency
from quizapp.services.audit_trail import record
from quizapp.services.content_in_force import content_in_force
from quizapp.services.discussions import DiscussionSheet, own_open_row, sheet_of_row
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.store.discussions import Discussion
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person

RECORD_TYPE = "discussion"
DISCUSSED = (
    "I asked this person these questions, wrote down what was said, and marked it. "
    "Whether they may use the device is decided by others."
)
OUTCOME_WORDS = {
    EvidenceOutcome.SHOWN: "shown",
    EvidenceOutcome.NOT_SHOWN: "not shown",
    EvidenceOutcome.INCOMPLETE: "incomplete, to be held again",
}


def prepare_discussion(act: Act, *, discussion_id: str, is_current: AssessorCurrency) -> str:
    """Keep exactly what is about to be signed and return the intent's id; raises as `sign_discussion` does."""
    row = _signable(act, discussion_id, is_current)
    statement = _statement(act, sheet_of_row(act, row))
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=statement).id


def discussion_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_discussion(act: Act, *, intent_id: str, password: str, is_current: AssessorCurrency) -> str:
    """Sign a prepared discussion, write its evidence and return the discussion's id.

    Raises NotFound, Conflict when it changed since it was shown, NotAllowed without role or currency, BadInput (field
    "password") for a wrong password.
    """
    intent = discussion_intent(act, intent_id)
    shown = intent.statement
    if not isinstance(shown, dict):
        raise Conflict("What was shown cannot be read. Nothing was signed; open it again.")
    row = _signable(act, str(shown["discussion"]), is_current)
    sheet = sheet_of_row(act, row)
    if _statement(act, sheet) != shown:
        raise Conflict("The discussion changed since it was shown. Nothing was signed. Look at it once more.")
    meaning = Meaning(word="discussed", sentence=DISCUSSED, role=_role(act, row), base_id=row.base_id)
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=row.id, meaning=meaning)
    row.signature_id, row.signed_at = signature.id, act.now
    evidence_id = _add_evidence(act, sheet)
    record(act, AuditEvent.DISCUSSION_SIGNED, "discussion", row.id, person_id=row.person_id, thing=row.code,
           after={"signature": signature.id, "outcome": sheet.result.outcome.value, "evidence": evidence_id,
                  "points": sheet.result.points})  # fmt: skip
    return row.id


def _signable(act: Act, discussion_id: str, is_current: AssessorCurrency) -> Discussion:
    row = own_open_row(act, discussion_id)
    person = act.session.get_one(Person, row.person_id)
    if person.left_on is not None:
        raise NotFound("This person left the service. Nothing was signed.")
    verdict = may_discuss(
        act.actor,
        person_id=row.person_id,
        base_id=row.base_id,
        is_current=is_current(act, person_id=act.actor.person_id, competencies=[row.competency]),
        day=act.today,
    )
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was signed. What was written down is kept.")
    for letter, one in row.answers.items():
        if one["mark"] is not None and not one["words"]:
            raise BadInput(f"Question {letter} has a mark but no words. Write down what was said.",
                           field=f"said_{letter}")  # fmt: skip
        if one["mark"] is None and one["words"]:
            raise BadInput(f"Question {letter} has words but no mark. Give 0, 1 or 2.", field=f"mark_{letter}")
    if not row.answers:
        raise BadInput("Nothing is written down yet, so there is nothing to sign.", field="said_a")
    return row


def _role(act: Act, row: Discussion) -> Role:
    return Role.EDUCATOR if act.actor.holds(Role.EDUCATOR, act.today, row.base_id) else Role.ASSESSOR


def _statement(act: Act, sheet: DiscussionSheet) -> dict[str, JsonValue]:
    """What is shown and signed: whole, in words."""
    row, guide, result = sheet.row, sheet.guide, sheet.result
    return {
        "discussion": row.id,
        "meaning": DISCUSSED,
        "person": {"id": row.person_id, "name": sheet.person_name},
        "base": sheet.base_name,
        "held_by": sheet.holder_name,
        "about": f"{guide.code} {guide.title}, version {guide.version}",
        "competency": guide.competency,
        "content_hash": guide.content_hash,
        "device": sheet.device or "every revision",
        "connection": row.connection or "",
        "opened_at": row.opened_at.astimezone(act.zone).isoformat(timespec="minutes"),
        "outcome": OUTCOME_WORDS[result.outcome],
        "points": f"{result.points} of {result.full_points}, cut {guide.points_needed}",
        "reasons": list(result.reasons),
        "critical_errors": list(sheet.kept.critical_errors),
        "person_words": sheet.kept.person_words,
        "questions": [
            {
                "letter": one.letter,
                "ask": one.ask,
                "critical": one.is_critical,
                "said": said.words if (said := sheet.kept.answers.get(one.letter)) else "",
                "mark": said.mark.words if said and said.mark is not None else "not asked",
            }
            for one in guide.questions
        ],
    }


def _add_evidence(act: Act, sheet: DiscussionSheet) -> str:
    row, guide, result = sheet.row, sheet.guide, sheet.result
    connected = " A connection with the person was declared." if row.connection else ""
    evidence = Evidence(
        id=act.randomness.new_id(),
        person_id=row.person_id,
        competency=row.competency,
        kind=EvidenceKind.DISCUSSION.value,
        source_id=row.id,
        procedure=None,
        outcome=result.outcome.value,
        summary=(
            f"{guide.code} {guide.title}, discussed: {result.points} of {result.full_points} points, "
            f"{OUTCOME_WORDS[result.outcome]}.{connected}"
        ),
        counts_for_sign_off=row.counts_for_sign_off and content_in_force(act).counts(guide),
        profile_code=row.profile_code,
        profile_revision=row.profile_revision,
        assessor_id=act.actor.person_id,
        details={
            "version": guide.version,
            "points": result.points,
            "full_points": result.full_points,
            "critical_errors": len(sheet.kept.critical_errors),
            "connection_declared": row.connection is not None,
        },
        happened_at=row.opened_at,
        recorded_at=act.now,
    )
    act.session.add(evidence)
    return evidence.id
