"""Finishes a rehearsal: compares the order given with the real one. It has no consequences beyond what it teaches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.frozen_procedure import from_json
from quizapp.assessment.observation_result_json import rehearsal_result_to_json
from quizapp.assessment.rehearsal import RehearsalResult, first_critical_s, score_rehearsal
from quizapp.errors import Conflict
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.start_rehearsal import RehearsalView, own_rehearsal_row


def finish_rehearsal(
    act: Act, *, rehearsal_id: str, given: Sequence[str], taken_after_ms: Mapping[str, int] | None = None
) -> RehearsalResult:
    """Keep the order given and say what it shows; the same order sent again gives the same result.

    `given` holds every letter once; `taken_after_ms` says when each step was taken first, from the page on, where the
    rehearsal is timed. Raises NotFound for another person's, BadInput (field "order") for an
    incomplete order, Conflict when it was finished with a different order.
    """
    row = own_rehearsal_row(act, rehearsal_id)
    procedure = from_json(row.frozen)
    result = score_rehearsal(procedure, given)
    if row.finished_at is not None:
        if list(given) != row.given_order:
            raise Conflict(
                "This rehearsal was compared already, with the order you gave then; that one was kept. "
                "Start a new rehearsal to try another order."
            )
        return result
    row.given_order, row.result, row.finished_at = list(given), rehearsal_result_to_json(result), act.now
    if row.is_timed:
        row.first_critical_s = first_critical_s(procedure, taken_after_ms or {})
    audit_trail.record(
        act, AuditEvent.REHEARSAL_FINISHED, "rehearsal", row.id, person_id=row.person_id, thing=row.procedure,
        after={"accepted": result.accepted, "broken": len(result.broken), "misplaced": result.order.misplaced},
    )  # fmt: skip
    return result


def result_of(rehearsal: RehearsalView) -> RehearsalResult:
    """Judge a finished rehearsal again from what was frozen with it."""
    return score_rehearsal(rehearsal.procedure, rehearsal.given_order)
