"""Discards a sheet that was opened by mistake: it is kept with the reason, and counts for nothing."""

from __future__ import annotations

from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import BadInput, Conflict
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.observation_sheet import events_of, own_row

LONGEST_REASON = 500


def discard_observation(act: Act, *, observation_id: str, reason: str) -> None:
    """Discard the actor's own open sheet; every mark on it is kept.

    `reason` in words, at most LONGEST_REASON characters. Raises NotFound for another assessor's sheet, Conflict once
    it is locked (the person has confirmed it then), BadInput (field "reason").
    """
    row = own_row(act, observation_id, for_change=True)
    if row.voided_at is not None:
        raise Conflict("This sheet was discarded already. It is kept as it was; nothing was changed.")
    if row.locked_at is not None:
        raise Conflict("This sheet is locked, so it cannot be discarded. Nothing was changed. It stands as it is.")
    words = reason.replace("\x00", "").strip()
    if not words:
        raise BadInput("Write why the sheet is discarded; it is still open.", field="reason")
    if len(words) > LONGEST_REASON:
        raise BadInput(
            f"The reason has {len(words)} characters; at most {LONGEST_REASON} can be kept. The sheet is still open.",
            field="reason",
        )
    row.voided_at, row.void_reason = act.now, words
    audit_trail.record(
        act, AuditEvent.OBSERVATION_DISCARDED, "observation", row.id, person_id=row.person_id, thing=row.procedure,
        after={"marks_kept": len(events_of(act, row.id))},
    )  # fmt: skip
