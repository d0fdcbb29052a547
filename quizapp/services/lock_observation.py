"""Locks a sheet: global rating, the person's own word on the spot, and the result the written rule gives."""

from __future__ import annotations

from datetime import datetime

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.observation_events import state_hash
from quizapp.assessment.observation_result_json import observation_result_to_json
from quizapp.assessment.observation_rules import ObservationResult
from quizapp.assessment.observation_state import GlobalRating
from quizapp.errors import BadInput, Conflict
from quizapp.services import audit_trail
from quizapp.services.act import Act
from quizapp.services.observation_sheet import Sheet, own_row, sheet_of

LONGEST_COMMENT = 2000


def lock_observation(
    act: Act, *, observation_id: str, global_rating: int, person_confirms: bool, person_comment: str = ""
) -> ObservationResult:
    """Lock the actor's own sheet and return its result; later taps are kept apart.

    `global_rating` 1 to 5 by its anchors; `person_confirms`: the person observed saw the marks and says so here and
    now; `person_comment` is in that person's own words, at most LONGEST_COMMENT characters. What that person said on
    the spot, on the device, stands instead of both.
    Raises NotFound for another assessor's sheet, Conflict when locked already or nothing was marked, BadInput.
    """
    row = own_row(act, observation_id, for_change=True)
    if row.voided_at is not None:
        raise Conflict("This sheet was discarded. Nothing was locked. Open a new sheet to observe again.")
    if row.locked_at is not None:
        raise Conflict("This sheet was locked already. What was locked stands; nothing was changed.")
    _check(global_rating, person_comment)
    sheet = sheet_of(act, row)
    if not sheet.state.marks:
        raise Conflict("Nothing was marked on this sheet yet, so there is nothing to lock. Mark the steps first.")
    row.result = {**observation_result_to_json(sheet.result), "taps_sha256": state_hash(sheet.state)}
    row.global_rating = global_rating
    said, confirmed_at = _word_of_the_person(act, sheet, person_comment, confirms=person_confirms)
    row.person_comment = said.replace("\x00", "").strip() or None
    row.person_confirmed_at = confirmed_at
    row.locked_at = act.now
    audit_trail.record(
        act, AuditEvent.OBSERVATION_RECEIVED, "observation", row.id, person_id=row.person_id, thing=row.procedure,
        after={"locked": True, "decision": sheet.result.decision.value, "taps": len(sheet.events),
               "taps_sha256": state_hash(sheet.state), "person_confirmed": confirmed_at is not None,
               "on_the_spot": sheet.state.spot_word is not None},
    )  # fmt: skip
    return sheet.result


def _word_of_the_person(act: Act, sheet: Sheet, comment: str, *, confirms: bool) -> tuple[str, datetime | None]:
    """Own words, and when the marks were seen; a device whose clock is ahead confirms nothing in the future."""
    word = sheet.state.spot_word
    if word is None:
        return comment, act.now if confirms else None
    return word.words, min(word.device_time, act.now) if word.seen else None


def _check(global_rating: int, person_comment: str) -> None:
    if global_rating not in set(GlobalRating):
        raise BadInput("Choose one of the five ratings; nothing was locked yet.", field="global_rating")
    if len(person_comment) > LONGEST_COMMENT:
        raise BadInput(
            f"The comment has {len(person_comment)} characters; at most {LONGEST_COMMENT} can be kept. "
            "Nothing was locked yet.",
            field="person_comment",
        )
