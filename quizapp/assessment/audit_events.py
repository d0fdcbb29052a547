"""Audit events, each with the one plain sentence it says; the bytes and hashes are those of audit_chain."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from quizapp.assessment.audit_chain import (
    NO_HASH,
    AuditEntry,
    AuditRow,
    ChainFault,
    ChainHead,
    FaultKind,
    JsonValue,
    audit_body,
    canonical_bytes,
    chain_hash,
    clock_steps,
    parse_canonical,
    record_hash,
    signature_hash,
    verify_chain,
)

__all__ = [
    "NO_HASH", "SENTENCES", "AuditEntry", "AuditEvent", "AuditRow", "ChainFault", "ChainHead", "FaultKind",
    "JsonValue", "audit_body", "canonical_bytes", "chain_hash", "clock_steps", "parse_canonical", "record_hash",
    "sentence", "signature_hash", "verify_chain",
]  # fmt: skip


class AuditEvent(StrEnum):
    """Everything that leaves a row in the audit trail."""

    CHAIN_BEGUN = "chain_begun"
    ANCHOR_TAKEN = "anchor_taken"
    ACCOUNT_CREATED = "account_created"
    ACCOUNT_DEACTIVATED = "account_deactivated"
    ACCOUNT_REACTIVATED = "account_reactivated"
    SIGNED_IN = "signed_in"
    SIGN_IN_REFUSED = "sign_in_refused"
    SIGNED_OUT = "signed_out"
    REAUTHENTICATED = "reauthenticated"
    PASSWORD_CHANGED = "password_changed"  # noqa: S105 - the name of an event
    PASSWORD_RESET_STARTED = "password_reset_started"  # noqa: S105 - the name of an event
    SECOND_FACTOR_SET = "second_factor_set"
    SECOND_FACTOR_REMOVED = "second_factor_removed"
    SECOND_FACTOR_REFUSED = "second_factor_refused"
    RECOVERY_CODE_USED = "recovery_code_used"
    PERSON_ADDED = "person_added"
    PERSON_TOLD = "person_told"
    PERSON_CHANGED = "person_changed"
    PERSON_LEFT = "person_left"
    PEOPLE_IMPORTED = "people_imported"
    ROLE_PROPOSED = "role_proposed"
    ROLE_GRANTED = "role_granted"
    ROLE_ENDED = "role_ended"
    FOUNDED = "founded"
    STANDARD_DRAFTED = "standard_drafted"
    STANDARD_SET = "standard_set"
    DEVICE_PUT_IN_SERVICE = "device_put_in_service"
    DEVICE_TAKEN_OUT = "device_taken_out"
    CONTENT_ACCEPTED = "content_accepted"
    CONTENT_WITHDRAWN = "content_withdrawn"
    ASSESSMENT_COMPOSED = "assessment_composed"
    ASSESSMENT_CHANGED = "assessment_changed"
    ASSESSMENT_OPENED = "assessment_opened"
    ASSESSMENT_CLOSED = "assessment_closed"
    ASSESSMENT_ASSIGNED = "assessment_assigned"
    ASSIGNMENT_WITHDRAWN = "assignment_withdrawn"
    SITTING_ADJUSTED = "sitting_adjusted"
    SITTING_STARTED = "sitting_started"
    ANSWER_SAVED = "answer_saved"
    SITTING_PAUSED = "sitting_paused"
    SITTING_RESUMED = "sitting_resumed"
    SITTING_SUBMITTED = "sitting_submitted"
    SITTING_EXPIRED = "sitting_expired"
    SITTING_MARKED = "sitting_marked"
    ANSWER_RELEASED = "answer_released"
    PRACTICE_ANSWERED = "practice_answered"
    REHEARSAL_FINISHED = "rehearsal_finished"
    OBSERVATION_STARTED = "observation_started"
    OBSERVATION_RECEIVED = "observation_received"
    OBSERVATION_SIGNED = "observation_signed"
    OBSERVATION_TRANSCRIBED = "observation_transcribed"
    OBSERVATION_DISCARDED = "observation_discarded"
    OBSERVATIONS_COMPARED = "observations_compared"
    LATE_MARK_DECIDED = "late_mark_decided"
    DEVICE_FAULT_REPORTED = "device_fault_reported"
    DISCUSSION_OPENED = "discussion_opened"
    DISCUSSION_KEPT = "discussion_kept"
    DISCUSSION_DISCARDED = "discussion_discarded"
    DISCUSSION_SIGNED = "discussion_signed"
    SIGN_OFFS_PROPOSED = "sign_offs_proposed"
    SIGN_OFFS_LEFT = "sign_offs_left"
    EVIDENCE_RECOGNISED = "evidence_recognised"
    EVIDENCE_REFUSED = "evidence_refused"
    USE_LOGGED = "use_logged"
    USE_TAKEN_BACK = "use_taken_back"
    DECISION_SIGNED = "decision_signed"
    DECISION_COUNTERSIGNED = "decision_countersigned"
    DECISION_AMENDED = "decision_amended"
    VOID_PROPOSED = "void_proposed"
    VOID_DECLINED = "void_declined"
    DECISION_VOIDED = "decision_voided"
    PERSON_SUSPENDED = "person_suspended"
    SUSPENSION_LIFTED = "suspension_lifted"
    PERSON_WITHDRAWN = "person_withdrawn"
    WITHDRAWAL_LIFTED = "withdrawal_lifted"
    PERSON_PAUSED = "person_paused"
    PERSON_RESTRICTED = "person_restricted"
    RESTRICTION_ENDED = "restriction_ended"
    PAUSE_ENDED = "pause_ended"
    RETURN_COMPLETED = "return_completed"
    PATH_OPENED = "path_opened"
    PATH_STEP_RECORDED = "path_step_recorded"
    PATH_CLOSED = "path_closed"
    ENGAGEMENT_SET = "engagement_set"
    ADJUSTMENT_ENDED = "adjustment_ended"
    CHALLENGE_RAISED = "challenge_raised"
    CHALLENGE_ANSWERED = "challenge_answered"
    CREWS_IMPORTED = "crews_imported"
    SHIFT_ENTERED = "shift_entered"
    SHIFT_CHANGED = "shift_changed"
    SHIFT_REMOVED = "shift_removed"
    SHIFT_UNCOVERED = "shift_uncovered"
    SHIFT_ANSWERED = "shift_answered"
    PLACE_OPENED = "place_opened"
    PLACE_BOOKED = "place_booked"
    PLACE_CANCELLED = "place_cancelled"
    PLACE_MOVED = "place_moved"
    PLACES_PLANNED = "places_planned"
    PLACES_PUBLISHED = "places_published"
    SESSION_DAY_CHANGED = "session_day_changed"
    SESSION_DAY_CANCELLED = "session_day_cancelled"
    ATTENDANCE_RECORDED = "attendance_recorded"
    CALENDAR_ADDRESS_MADE = "calendar_address_made"
    CALENDAR_ADDRESS_ENDED = "calendar_address_ended"
    RECORD_SEEN = "record_seen"
    RECORD_OPENED_UNDER_EMERGENCY = "record_opened_under_emergency"
    EVIDENCE_FILE_BUILT = "evidence_file_built"
    EVIDENCE_TAKEN_AWAY = "evidence_taken_away"
    TAKE_AWAY_REVOKED = "take_away_revoked"
    TAKE_AWAY_CHECKED = "take_away_checked"
    LIST_EXPORTED = "list_exported"
    BACKUP_TAKEN = "backup_taken"
    RESTORED = "restored"
    RECORDS_SEALED = "records_sealed"
    COMPETENCE_REBUILT = "competence_rebuilt"
    COMPETENCE_FITTED = "competence_fitted"
    COMPETENCE_FIT_PUT_IN_FORCE = "competence_fit_put_in_force"
    COMPETENCE_FIT_TAKEN_OUT = "competence_fit_taken_out"
    REFUSED = "refused"


SENTENCES: Mapping[AuditEvent, str] = MappingProxyType(
    {
        AuditEvent.CHAIN_BEGUN: "{actor} began the audit trail.",
        AuditEvent.ANCHOR_TAKEN: "{actor} took the head of the audit trail out as an anchor: {thing}.",
        AuditEvent.ACCOUNT_CREATED: "{actor} created an account for {person}.",
        AuditEvent.ACCOUNT_DEACTIVATED: "{actor} deactivated the account of {person}.",
        AuditEvent.ACCOUNT_REACTIVATED: "{actor} made the account of {person} active again.",
        AuditEvent.SIGNED_IN: "{actor} signed in.",
        AuditEvent.SIGN_IN_REFUSED: "A sign-in as {person} was refused.",
        AuditEvent.SIGNED_OUT: "{actor} signed out.",
        AuditEvent.REAUTHENTICATED: "{actor} proved again who they are.",
        AuditEvent.PASSWORD_CHANGED: "{actor} changed their password.",
        AuditEvent.PASSWORD_RESET_STARTED: "{actor} started a password reset for {person}.",
        AuditEvent.SECOND_FACTOR_SET: "{actor} set up a second factor.",
        AuditEvent.SECOND_FACTOR_REMOVED: "{actor} removed the second factor of {person}.",
        AuditEvent.SECOND_FACTOR_REFUSED: "A code shown by {actor} as second factor was refused.",
        AuditEvent.RECOVERY_CODE_USED: "{actor} signed in with a recovery code.",
        AuditEvent.PERSON_ADDED: "{actor} added {person}.",
        AuditEvent.PERSON_TOLD: "{actor} put everything kept about {person} together for them.",
        AuditEvent.PERSON_CHANGED: "{actor} changed the entry of {person}: {thing}.",
        AuditEvent.PERSON_LEFT: "{actor} recorded that {person} left the service.",
        AuditEvent.PEOPLE_IMPORTED: "{actor} imported a list of people: {thing}.",
        AuditEvent.ROLE_PROPOSED: "{actor} proposed {thing} for {person}.",
        AuditEvent.ROLE_GRANTED: "{actor} granted {thing} to {person}.",
        AuditEvent.ROLE_ENDED: "{actor} ended {thing} for {person}.",
        AuditEvent.FOUNDED: "{actor} founded the service with {person}: {thing}.",
        AuditEvent.STANDARD_DRAFTED: "{actor} worked on the draft of the next standard: {thing}.",
        AuditEvent.STANDARD_SET: "{actor} set the standard {thing}.",
        AuditEvent.DEVICE_PUT_IN_SERVICE: "{actor} put {thing} in service.",
        AuditEvent.DEVICE_TAKEN_OUT: "{actor} took {thing} out of service.",
        AuditEvent.CONTENT_ACCEPTED: "{actor} accepted {thing} for sign-off.",
        AuditEvent.CONTENT_WITHDRAWN: "{actor} withdrew {thing}.",
        AuditEvent.ASSESSMENT_COMPOSED: "{actor} composed the assessment {thing}.",
        AuditEvent.ASSESSMENT_CHANGED: "{actor} changed the assessment {thing}.",
        AuditEvent.ASSESSMENT_OPENED: "{actor} opened the assessment {thing}.",
        AuditEvent.ASSESSMENT_CLOSED: "{actor} closed the assessment {thing}.",
        AuditEvent.ASSESSMENT_ASSIGNED: "{actor} assigned {thing} to {person}.",
        AuditEvent.ASSIGNMENT_WITHDRAWN: "{actor} withdrew {thing} from {person}.",
        AuditEvent.SITTING_ADJUSTED: "{actor} set an adjustment of sittings.",
        AuditEvent.SITTING_STARTED: "{actor} started a sitting of {thing}.",
        AuditEvent.ANSWER_SAVED: "{actor} saved an answer to {thing}.",
        AuditEvent.SITTING_PAUSED: "{actor} paused a sitting of {thing}.",
        AuditEvent.SITTING_RESUMED: "{actor} went on with a sitting of {thing}.",
        AuditEvent.SITTING_SUBMITTED: "{actor} submitted a sitting of {thing}.",
        AuditEvent.SITTING_EXPIRED: "The time of a sitting of {thing} by {person} ran out.",
        AuditEvent.SITTING_MARKED: "A sitting of {thing} by {person} was marked.",
        AuditEvent.ANSWER_RELEASED: "{actor} released the answers of {thing}.",
        AuditEvent.PRACTICE_ANSWERED: "{actor} answered a practice question on {thing}.",
        AuditEvent.REHEARSAL_FINISHED: "{actor} finished a rehearsal of {thing}.",
        AuditEvent.OBSERVATION_STARTED: "{actor} started to observe {person} in {thing}.",
        AuditEvent.OBSERVATION_RECEIVED: "{actor} sent in what was observed of {person} in {thing}.",
        AuditEvent.OBSERVATION_SIGNED: "{actor} signed the observation of {person} in {thing}.",
        AuditEvent.OBSERVATION_TRANSCRIBED: "{actor} entered a sheet on paper about {person} in {thing}.",
        AuditEvent.OBSERVATION_DISCARDED: "{actor} discarded a sheet about {person} in {thing}; it is kept.",
        AuditEvent.OBSERVATIONS_COMPARED: "{actor} settled two observations of {person} in {thing}.",
        AuditEvent.LATE_MARK_DECIDED: "{actor} decided on a late mark in the observation of {person} in {thing}.",
        AuditEvent.DEVICE_FAULT_REPORTED: "{actor} reported a fault of {thing}.",
        AuditEvent.DISCUSSION_OPENED: "{actor} opened a structured discussion with {person} on {thing}.",
        AuditEvent.DISCUSSION_KEPT: "{actor} wrote down what {person} said in a structured discussion on {thing}.",
        AuditEvent.DISCUSSION_DISCARDED: "{actor} discarded a structured discussion with {person}; it is kept.",
        AuditEvent.DISCUSSION_SIGNED: "{actor} signed a structured discussion with {person} on {thing}.",
        AuditEvent.SIGN_OFFS_PROPOSED: "{actor} signed a list of outside sign-offs as the first of two people: {thing}.",
        AuditEvent.SIGN_OFFS_LEFT: "{actor} left a signed list of outside sign-offs: {thing}.",
        AuditEvent.EVIDENCE_RECOGNISED: "{actor} recognised outside evidence of {person} for {thing}.",
        AuditEvent.EVIDENCE_REFUSED: "{actor} did not recognise outside evidence of {person} for {thing}.",
        AuditEvent.USE_LOGGED: "{actor} logged a real use of {thing}.",
        AuditEvent.USE_TAKEN_BACK: "{actor} took a logged use back; its words were emptied.",
        AuditEvent.DECISION_SIGNED: "{actor} decided on {person}: {thing}.",
        AuditEvent.DECISION_COUNTERSIGNED: "{actor} countersigned a decision on {person}: {thing}.",
        AuditEvent.DECISION_AMENDED: "{actor} amended a decision on {person}: {thing}.",
        AuditEvent.VOID_DECLINED: "{actor} declined to void a decision on {person}: {thing}.",
        AuditEvent.VOID_PROPOSED: "{actor} proposed to void a decision on {person}: {thing}.",
        AuditEvent.DECISION_VOIDED: "{actor} voided a decision on {person}: {thing}.",
        AuditEvent.PERSON_SUSPENDED: "{actor} suspended {person}: {thing}.",
        AuditEvent.SUSPENSION_LIFTED: "{actor} lifted the suspension of {person}: {thing}.",
        AuditEvent.PERSON_WITHDRAWN: "{actor} withdrew {person}: {thing}.",
        AuditEvent.WITHDRAWAL_LIFTED: "{actor} took the withdrawal of {person} back: {thing}.",
        AuditEvent.RESTRICTION_ENDED: "{actor} ended the restriction of {person}: {thing}.",
        AuditEvent.PERSON_PAUSED: "{actor} paused {person}: {thing}.",
        AuditEvent.PERSON_RESTRICTED: "{actor} restricted {person}: {thing}.",
        AuditEvent.PAUSE_ENDED: "{actor} ended the pause of {person}.",
        AuditEvent.RETURN_COMPLETED: "{actor} recorded that the return of {person} from leave is complete.",
        AuditEvent.PATH_OPENED: "{actor} opened a path for {person}: {thing}.",
        AuditEvent.PATH_STEP_RECORDED: "{actor} recorded a step on the path of {person}: {thing}.",
        AuditEvent.PATH_CLOSED: "{actor} closed the path of {person}: {thing}.",
        AuditEvent.ENGAGEMENT_SET: "{actor} set the end of the engagement of {person}.",
        AuditEvent.ADJUSTMENT_ENDED: "{actor} ended an adjustment of sittings.",
        AuditEvent.CHALLENGE_RAISED: "{actor} asked for {thing} to be looked at again.",
        AuditEvent.CHALLENGE_ANSWERED: "{actor} answered a challenge of {person} about {thing}.",
        AuditEvent.CREWS_IMPORTED: "{actor} imported crews and shifts: {thing}.",
        AuditEvent.SHIFT_ENTERED: "{actor} entered the shift {thing}.",
        AuditEvent.SHIFT_CHANGED: "{actor} changed the crew of the shift {thing}.",
        AuditEvent.SHIFT_REMOVED: "{actor} removed the shift {thing}.",
        AuditEvent.SHIFT_UNCOVERED: "An act of {actor} found the shift {thing} with nobody current.",
        AuditEvent.SHIFT_ANSWERED: "{actor} recorded what is done about a shift with nobody current: {thing}.",
        AuditEvent.PLACE_OPENED: "{actor} opened places on {thing}.",
        AuditEvent.PLACE_BOOKED: "{actor} booked {person} on {thing}.",
        AuditEvent.PLACE_CANCELLED: "{actor} gave up the place of {person} on {thing}.",
        AuditEvent.PLACE_MOVED: "{actor} moved the place of {person} to {thing}.",
        AuditEvent.PLACES_PLANNED: "{actor} worked on a plan of places: {thing}.",
        AuditEvent.PLACES_PUBLISHED: "{actor} published a plan of places: {thing}.",
        AuditEvent.SESSION_DAY_CHANGED: "{actor} changed the session day on {thing}.",
        AuditEvent.SESSION_DAY_CANCELLED: "{actor} cancelled the session day on {thing}.",
        AuditEvent.ATTENDANCE_RECORDED: "{actor} recorded whether {person} came on {thing}.",
        AuditEvent.CALENDAR_ADDRESS_MADE: "{actor} made a secret address for a calendar of {thing}.",
        AuditEvent.CALENDAR_ADDRESS_ENDED: "{actor} ended a secret address for a calendar of {thing}.",
        AuditEvent.RECORD_SEEN: "{actor} looked at the record of {person}.",
        AuditEvent.RECORD_OPENED_UNDER_EMERGENCY: "{actor} opened the record of {person} under emergency: {thing}.",
        AuditEvent.EVIDENCE_FILE_BUILT: "{actor} built an evidence file: {thing}.",
        AuditEvent.EVIDENCE_TAKEN_AWAY: "{actor} took their own evidence away.",
        AuditEvent.TAKE_AWAY_REVOKED: "{actor} revoked evidence they had taken away.",
        AuditEvent.TAKE_AWAY_CHECKED: "Somebody without an account checked evidence that {person} had taken away.",
        AuditEvent.LIST_EXPORTED: "{actor} exported {thing}.",
        AuditEvent.BACKUP_TAKEN: "{actor} took a backup: {thing}.",
        AuditEvent.RESTORED: "{actor} restored the service from {thing}.",
        AuditEvent.RECORDS_SEALED: "The records that the act of {actor} changed last were sealed.",
        AuditEvent.COMPETENCE_REBUILT: "{actor} told the estimates of competence again from the records.",
        AuditEvent.COMPETENCE_FITTED: "{actor} fitted the estimate of competence to outcomes; it is not in force.",
        AuditEvent.COMPETENCE_FIT_PUT_IN_FORCE: "{actor} put a fit of the estimate of competence in force.",
        AuditEvent.COMPETENCE_FIT_TAKEN_OUT: "{actor} took a fit of the estimate of competence out of force.",
        AuditEvent.REFUSED: "{actor} was refused: {thing}.",
    }
)


def sentence(event: AuditEvent, *, actor: str, person: str = "a person", thing: str = "a thing") -> str:
    """Say an event in one plain sentence.

    `actor` and `person` are printed names, `thing` is what the act was about in a few words.
    """
    return SENTENCES[event].format(actor=actor, person=person, thing=thing)
