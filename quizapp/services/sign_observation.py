"""Signs what was observed: shown first, then signed with the password, then written as evidence."""

from __future__ import annotations

from quizapp.assessment.audit_events import AuditEvent, JsonValue
from quizapp.assessment.observation_events import state_hash
from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.observation_state import GlobalRating
from quizapp.assessment.person_rules import Denied, may_observe
from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.errors import Conflict, NotAllowed, NotFound
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.assessor_currency import AssessorCurrency
from quizapp.services.content_in_force import content_in_force
from quizapp.services.observation_sheet import Sheet, sheet_of
from quizapp.services.performance_pairs import check_the_other, is_hidden, may_count
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.services.update_competence import learn_from_observation
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation

RECORD_TYPE = "observation"
OUTCOMES = {
    Decision.SHOWN: EvidenceOutcome.SHOWN,
    Decision.NOT_YET: EvidenceOutcome.NOT_SHOWN,
    Decision.INCOMPLETE: EvidenceOutcome.INCOMPLETE,
}
OBSERVED = "I watched this person do this and marked what I saw. Whether they may use the device is decided by others."
COUNTER_SIGNED = (
    "I was there and saw the same. The assessor who marked this sheet was not current, and I am. "
    "Whether this person may use the device is decided by others."
)


def prepare_observation(act: Act, *, observation_id: str, is_current: AssessorCurrency) -> Intent:
    """Keep exactly what is about to be signed; raises like `sign_observation`, before any password is asked for."""
    row = signable_row(act, observation_id, is_current=is_current)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=_statement(sheet_of(act, row), _meaning(act, row)))


def sign_observation(
    act: Act, *, observation_id: str, intent_id: str, password: str, is_current: AssessorCurrency
) -> tuple[str, ...]:
    """Sign a locked sheet and write one evidence row per competency; return their ids.

    The sheet's assessor signs "observed"; where that assessor was not current, another assessor of the base who was
    there and is current counter-signs. Raises NotFound for a sheet the actor may not sign, Conflict when it is not
    locked or signed already or was shown for another sheet, NotAllowed without role or currency, BadInput (field
    "password") for a wrong password.
    """
    row = signable_row(act, observation_id, is_current=is_current)
    intent = open_intent(act, intent_id, record_type=RECORD_TYPE)
    sheet, meaning = sheet_of(act, row), _meaning(act, row)
    if intent.statement != _statement(sheet, meaning):
        raise Conflict("What you were shown is not this sheet as it stands. Nothing was signed. Open it once more.")
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=row.id, meaning=meaning)
    row.signature_id, row.signed_by, row.signer_was_current = signature.id, act.actor.person_id, True
    counts = row.counts_for_sign_off and content_in_force(act).counts(sheet.procedure) and may_count(act, row)
    evidence_ids = tuple(
        _add_evidence(act, row, sheet, competency, counts=counts) for competency in sheet.procedure.competencies
    )
    audit_trail.record(
        act, AuditEvent.OBSERVATION_SIGNED, "observation", row.id, person_id=row.person_id, thing=row.procedure,
        after={"meaning": meaning.word, "signature": signature.id, "decision": sheet.result.decision.value,
               "evidence": list(evidence_ids)},
    )  # fmt: skip
    learn_from_observation(act, row)
    return evidence_ids


def signable_row(act: Act, observation_id: str, *, is_current: AssessorCurrency) -> Observation:
    """Return the row of a sheet the actor may sign now; raises as `sign_observation` says."""
    row = act.session.get(Observation, observation_id, with_for_update=True)
    if row is None or not _may_know(act, row):
        raise NotFound("There is no such observation for you to sign. Nothing was signed.")
    if row.voided_at is not None:
        raise Conflict("This sheet was discarded. Nothing was signed. Open a new one to observe again.")
    if row.locked_at is None:
        raise Conflict("This sheet is not locked yet. Nothing was signed. Finish it, and let the person confirm first.")
    if row.signature_id is not None:
        raise Conflict("This observation was signed already. Nothing was signed twice.")
    if row.assessor_id == act.actor.person_id and not row.assessor_was_current:
        raise NotAllowed(
            "You were not current for this when you watched, so you cannot sign it. The marks are kept and wait for "
            "the counter-signature of an assessor who was there and is current."
        )
    verdict = may_observe(
        act.actor,
        observed_id=row.person_id,
        base_id=row.base_id,
        is_current=is_current(act, person_id=act.actor.person_id, competencies=row.frozen["competencies"]),
        day=act.today,
    )
    if isinstance(verdict, Denied):
        raise NotAllowed(f"{verdict.reason} Nothing was signed. The marks are kept.")
    check_the_other(act, row)
    return row


def _may_know(act: Act, row: Observation) -> bool:
    """One's own sheet, or one at one's base that waits for a counter-signature; never one about oneself."""
    if act.actor.person_id == row.person_id:
        return False
    if act.actor.person_id == row.assessor_id:
        return True
    if is_hidden(act, row):
        return False
    waits = row.locked_at is not None and not row.assessor_was_current and row.transcribed_by is None
    return waits and act.actor.holds(Role.ASSESSOR, act.today, row.base_id)


def _meaning(act: Act, row: Observation) -> Meaning:
    own = row.assessor_id == act.actor.person_id
    return Meaning(
        word="observed" if own else "counter-signed",
        sentence=OBSERVED if own else COUNTER_SIGNED,
        role=Role.ASSESSOR,
        base_id=row.base_id,
    )


def _statement(sheet: Sheet, meaning: Meaning) -> dict[str, JsonValue]:
    """What is shown and signed: whole, in words, without anything that is not on the sheet."""
    result, state = sheet.result, sheet.state
    rating = GlobalRating(sheet.global_rating) if sheet.global_rating else None
    return {
        "observation": sheet.id,
        "meaning": meaning.sentence,
        "person": {"id": sheet.person_id, "name": sheet.person_name},
        "base": {"id": meaning.base_id, "name": sheet.base_name},
        "marked_by": {"id": sheet.assessor_id, "name": sheet.assessor_name, "current": sheet.assessor_was_current},
        "procedure": f"{sheet.procedure.code} {sheet.procedure.title}",
        "version": sheet.procedure.version,
        "content_hash": sheet.procedure.content_hash,
        "device": sheet.device,
        "setting": sheet.setting.value,
        "called_for": sorted(sheet.presented),
        "opened_at": sheet.opened_at.isoformat(),
        "watched_at": sheet.happened_at.isoformat(),
        "written_over_by": {"id": sheet.transcribed_by, "name": sheet.transcriber_name} if sheet.transcribed_by else {},
        "connection": sheet.connection,
        "locked_at": sheet.locked_at.isoformat() if sheet.locked_at else "",
        "result": result.decision.value,
        "reasons": [reason.sentence for reason in result.reasons],
        "marks": [
            f"{letter}, {sheet.procedure.step(letter).text}: {mark.value.replace('_', ' ')}"
            for letter, mark in result.marks
        ],
        "prompted": list(result.prompted),
        "order": list(result.order.performed),
        "broken": [pair.sentence for pair in result.broken],
        "global_rating": f"{rating.value}, {rating.anchor}" if rating else "",
        "person_confirmed": sheet.confirmed_at is not None,
        "person_comment": sheet.person_comment,
        "taps_sha256": state_hash(state),
    }


def _add_evidence(act: Act, row: Observation, sheet: Sheet, competency: str, *, counts: bool) -> str:
    result = sheet.result
    evidence = Evidence(
        id=act.randomness.new_id(),
        person_id=row.person_id,
        competency=competency,
        kind=EvidenceKind.OBSERVATION.value,
        source_id=row.id,
        procedure=row.procedure,
        outcome=OUTCOMES[result.decision].value,
        summary=summary_of(sheet),
        counts_for_sign_off=counts,
        profile_code=row.profile_code,
        profile_revision=row.profile_revision,
        assessor_id=act.actor.person_id,
        details={
            "setting": row.setting,
            "version": sheet.procedure.version,
            "global_rating": row.global_rating,
            "reasons": [reason.kind.value for reason in result.reasons],
            "broken": [[pair.first, pair.then] for pair in result.broken],
            "marked_by": row.assessor_id,
            "performance": row.performance_id,
            "connection_declared": row.connection is not None,
            "written_over_by": row.transcribed_by or "",
        },
        happened_at=row.happened_at,
        recorded_at=act.now,
    )
    act.session.add(evidence)
    return evidence.id


def summary_of(sheet: Sheet) -> str:
    """Say in one line of evidence what was watched, where, on which device, and what it showed."""
    said = {
        Decision.SHOWN: "shown",
        Decision.NOT_YET: "not yet shown",
        Decision.INCOMPLETE: "incomplete, to be observed again",
    }[sheet.result.decision]
    from_paper = f" Entered from paper by {sheet.transcriber_name}." if sheet.transcribed_by else ""
    connected = " The assessor declared a connection with the person." if sheet.connection else ""
    return (
        f"{sheet.procedure.code} {sheet.procedure.title}, {sheet.setting.words}, {sheet.device}: {said}."
        f"{from_paper}{connected}"
    )
