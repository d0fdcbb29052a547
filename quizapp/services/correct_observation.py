"""A new version of the result of a signed observation, one step's mark put right; the signed sheet stays as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.observation_result_json import observation_result_to_json
from quizapp.assessment.observation_rules import Decision, ObservationResult, judge_observation
from quizapp.assessment.observation_state import ObservationState, StepMark
from quizapp.assessment.sign_off import EvidenceKind
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.evidence_of import is_replaced
from quizapp.services.observation_sheet import Sheet, sheet_of
from quizapp.services.remarked import corrected_observations
from quizapp.services.sign_observation import OUTCOMES, summary_of
from quizapp.store.challenges import CorrectedObservation
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation

RANK = {Decision.NOT_YET: 0, Decision.INCOMPLETE: 1, Decision.SHOWN: 2}


@dataclass(frozen=True, kw_only=True)
class ObservationChange:
    """What a corrected mark does to one observation: its sheet, the result before and after, and the effect."""

    sheet: Sheet
    step: str
    mark_before: StepMark
    mark: StepMark
    before: ObservationResult
    after: ObservationResult
    effect: Effect


def plan_correction(
    act: Act, observation_id: str, step: str, *, outcome: ChallengeOutcome, mark: str = ""
) -> ObservationChange:
    """Judge a signed observation again with one mark put right; a void mark counts as not seen.

    A result that would fall is kept. Raises BadInput (field "mark") for no mark, or the one that stands.
    """
    row = act.session.get_one(Observation, observation_id)
    sheet = sheet_of(act, row)
    earlier = corrected_observations(act.session, [observation_id]).get(observation_id, [])
    before = _judged(sheet, earlier)
    marks = dict(before.marks)
    if outcome is ChallengeOutcome.UPHELD:
        return _change(sheet, step, (marks[step], marks[step]), before, before, Effect.SAME)
    wanted = StepMark.NOT_SEEN if outcome is ChallengeOutcome.VOID else _read(mark)
    if wanted is marks[step] and step not in before.prompted:
        raise BadInput("That is the mark as it stands, so nothing would be corrected. Choose another.", field="mark")
    after = _judged(sheet, earlier, {step: wanted})
    falls = RANK[after.decision] < RANK[before.decision]
    effect = Effect.KEPT if falls else Effect.RAISED if RANK[after.decision] > RANK[before.decision] else Effect.SAME
    return _change(sheet, step, (marks[step], wanted), before, before if falls else after, effect)


def corrected_sheet(act: Act, sheet: Sheet) -> tuple[Sheet, tuple[CorrectedObservation, ...]]:
    """Return a sheet with its newest result, and the corrections that led to it, oldest first."""
    earlier = corrected_observations(act.session, [sheet.id]).get(sheet.id, [])
    return (replace(sheet, result=_judged(sheet, earlier)) if earlier else sheet), tuple(earlier)


def apply_correction(act: Act, change: ObservationChange, *, answer_id: str) -> str:
    """Keep the new version and say its evidence anew where it says more; return the id of the version."""
    kept = CorrectedObservation(
        id=act.randomness.new_id(),
        challenge_answer_id=answer_id,
        observation_id=change.sheet.id,
        step=change.step,
        mark_before=change.mark_before.value,
        mark=change.mark.value,
        effect=change.effect.value,
        result=observation_result_to_json(change.after),
        corrected_at=act.now,
    )
    act.session.add(kept)
    if change.effect is not Effect.KEPT:
        act.session.add_all(_evidence_anew(act, change))
    act.session.flush()
    return kept.id


def _change(
    sheet: Sheet,
    step: str,
    marks: tuple[StepMark, StepMark],
    before: ObservationResult,
    after: ObservationResult,
    effect: Effect,
) -> ObservationChange:
    return ObservationChange(
        sheet=sheet, step=step, mark_before=marks[0], mark=marks[1], before=before, after=after, effect=effect
    )


def _read(mark: str) -> StepMark:
    try:
        return StepMark(mark)
    except ValueError:
        raise BadInput("Choose the mark that is right; nothing was changed.", field="mark") from None


def _judged(
    sheet: Sheet, earlier: Sequence[CorrectedObservation], anew: Mapping[str, StepMark] | None = None
) -> ObservationResult:
    marks = {row.step: StepMark(row.mark) for row in earlier if row.effect != Effect.KEPT} | dict(anew or {})
    return judge_observation(sheet.procedure, _with_marks(sheet.state, marks), presented=sheet.presented)


def _with_marks(state: ObservationState, marks: Mapping[str, StepMark]) -> ObservationState:
    """Put marks right; a step marked done anew has no place in the order, since nobody noted one."""
    return replace(
        state,
        marks=tuple({**dict(state.marks), **marks}.items()),
        prompted=tuple(step for step in state.prompted if step not in marks),
    )


def _evidence_anew(act: Act, change: ObservationChange) -> list[Evidence]:
    sheet = replace(change.sheet, result=change.after)
    rows = act.session.scalars(
        select(Evidence).where(
            Evidence.source_id == sheet.id, Evidence.kind == EvidenceKind.OBSERVATION.value, ~is_replaced()
        )
    )
    return [
        Evidence(
            id=act.randomness.new_id(),
            person_id=row.person_id,
            competency=row.competency,
            kind=row.kind,
            source_id=row.source_id,
            procedure=row.procedure,
            outcome=OUTCOMES[change.after.decision].value,
            summary=f"{summary_of(sheet)} Step {change.step} was corrected after it was looked at again.",
            counts_for_sign_off=row.counts_for_sign_off,
            profile_code=row.profile_code,
            profile_revision=row.profile_revision,
            assessor_id=row.assessor_id,
            details=_details(row, change.after),
            happened_at=row.happened_at,
            recorded_at=act.now,
            replaces_id=row.id,
        )
        for row in rows
    ]


def _details(row: Evidence, after: ObservationResult) -> dict[str, Any]:
    return {
        **row.details,
        "reasons": [reason.kind.value for reason in after.reasons],
        "broken": [[pair.first, pair.then] for pair in after.broken],
        "says_anew": [row.id, *row.details.get("says_anew", ())],
    }
