"""Audit events; the sentence each says is in audit_sentences, the bytes and hashes are those of audit_chain."""

from __future__ import annotations

from enum import StrEnum

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
    "NO_HASH", "AuditEntry", "AuditEvent", "AuditRow", "ChainFault", "ChainHead", "FaultKind", "JsonValue",
    "audit_body", "canonical_bytes", "chain_hash", "clock_steps", "parse_canonical", "record_hash", "signature_hash",
    "verify_chain",
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
