"""Turns an observation into a result: shown, not yet, or incomplete, each with its reasons.

Conjunctive on purpose: no good step makes up for a critical one, and no number is blended into the decision.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from quizapp.assessment.broken_pairs import BrokenPair, broken_pairs
from quizapp.assessment.observation_state import ObservationState, StepMark
from quizapp.assessment.order_scoring import OrderScore, score_order
from quizapp.assessment.procedures import Procedure, Step
from quizapp.assessment.time_limits import Interval, IntervalResult, LocalStandard, measure_intervals

PRACTICE_STEPS_SHARE = Fraction(8, 10)
"""Weight of the steps in the one number shown for practice; the order has the rest. Ours (policy)."""


class Decision(StrEnum):
    """What an observation shows; a person decides and signs, this only applies the written rule."""

    SHOWN = "shown"
    NOT_YET = "not_yet"
    INCOMPLETE = "incomplete"


class ReasonKind(StrEnum):
    """Why a decision is not "shown"."""

    CRITICAL_STEP_MISSED = "critical_step_missed"
    CRITICAL_STEP_PROMPTED = "critical_step_prompted"
    CRITICAL_PAIR_REVERSED = "critical_pair_reversed"
    TIME_LIMIT_NOT_MET = "time_limit_not_met"
    BELOW_CUT = "below_cut"
    CRITICAL_STEP_NOT_SEEN = "critical_step_not_seen"
    STEP_UNMARKED = "step_unmarked"
    TIME_LIMIT_NOT_MEASURED = "time_limit_not_measured"


OPEN_REASONS = frozenset(
    {ReasonKind.CRITICAL_STEP_NOT_SEEN, ReasonKind.STEP_UNMARKED, ReasonKind.TIME_LIMIT_NOT_MEASURED}
)
"""Reasons that further observation could settle; any other reason means "not yet"."""


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One reason with the steps it concerns and the sentence shown for it."""

    kind: ReasonKind
    steps: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, kw_only=True)
class ObservationResult:
    """Everything an observation shows, side by side. Fractions run from 0 to 1; None where no step was judged.

    `marks` are the marks as they count: a step the scenario did not present is not called for, and "not called
    for" on a step that was always called for counts as not seen.
    """

    decision: Decision
    reasons: tuple[Reason, ...]
    marks: tuple[tuple[str, StepMark], ...]
    omitted: tuple[str, ...]
    prompted: tuple[str, ...]
    not_seen: tuple[str, ...]
    unmarked: tuple[str, ...]
    order: OrderScore
    broken: tuple[BrokenPair, ...]
    steps_fraction: Fraction | None
    non_critical_fraction: Fraction | None
    cut_fraction: Fraction
    intervals: tuple[Interval, ...]

    @property
    def practice_fraction(self) -> Fraction:
        """The one number for practice, 0 to 1: 0.8 of the steps and 0.2 of the order; it never decides anything."""
        steps = self.steps_fraction if self.steps_fraction is not None else Fraction(0)
        return PRACTICE_STEPS_SHARE * steps + (1 - PRACTICE_STEPS_SHARE) * self.order.order_fraction


def judge_observation(
    procedure: Procedure,
    state: ObservationState,
    *,
    presented: Collection[str] | None = None,
    local_standards: Mapping[str, LocalStandard] | None = None,
    for_sign_off: bool = True,
) -> ObservationResult:
    """Apply the written rule to one observation.

    `procedure` as it stands for the device at hand. `presented`: the "if called for" steps the scenario card
    presents (None: no card, marks are taken as they are). `local_standards`: the service's own time limits by key;
    teaching targets are measured and never decide. `for_sign_off`: a prompted critical step earns nothing, in
    practice one half. Marks of letters that are not in the procedure are left out.
    """
    marks = _marks_that_count(procedure, state, presented)
    prompted = tuple(letter for letter in procedure.letters if letter in state.prompted)
    performed = [letter for letter in state.performed if marks.get(letter) is StepMark.DONE]
    order = score_order(procedure.order, performed, procedure.pair_weights)
    intervals = measure_intervals(procedure, marks, dict(state.done_at_s), state.stopped_at_s, local_standards)
    broken = broken_pairs(procedure, order.broken)
    non_critical = _share(procedure, marks, prompted, critical_too=False, for_sign_off=for_sign_off)
    cut = Fraction(str(procedure.cut_fraction))
    reasons = (
        *_critical_step_reasons(procedure, marks, prompted),
        *_pair_reasons(broken),
        *_time_reasons(intervals),
        *_unmarked_reason(procedure, marks),
        *_cut_reason(non_critical, cut),
    )
    return ObservationResult(
        decision=_decision(reasons),
        reasons=reasons,
        marks=tuple((letter, marks[letter]) for letter in procedure.letters if letter in marks),
        omitted=_marked(marks, StepMark.NOT_DONE),
        prompted=prompted,
        not_seen=_marked(marks, StepMark.NOT_SEEN),
        unmarked=tuple(letter for letter in procedure.letters if letter not in marks),
        order=order,
        broken=broken,
        steps_fraction=_share(procedure, marks, prompted, critical_too=True, for_sign_off=for_sign_off),
        non_critical_fraction=non_critical,
        cut_fraction=cut,
        intervals=intervals,
    )


def _marks_that_count(
    procedure: Procedure, state: ObservationState, presented: Collection[str] | None
) -> dict[str, StepMark]:
    counted = {}
    for step in procedure.steps:
        mark = _mark_that_counts(step, state.mark_of(step.letter), presented)
        if mark is not None:
            counted[step.letter] = mark
    return counted


def _mark_that_counts(step: Step, mark: StepMark | None, presented: Collection[str] | None) -> StepMark | None:
    called_for = not step.conditional or (presented is not None and step.letter in presented)
    if called_for:
        return StepMark.NOT_SEEN if mark is StepMark.NOT_CALLED_FOR else mark
    if presented is not None and mark is not StepMark.DONE:
        return StepMark.NOT_CALLED_FOR
    return mark


def _marked(marks: Mapping[str, StepMark], wanted: StepMark) -> tuple[str, ...]:
    return tuple(letter for letter, mark in marks.items() if mark is wanted)


def _share(
    procedure: Procedure,
    marks: Mapping[str, StepMark],
    prompted: Collection[str],
    *,
    critical_too: bool,
    for_sign_off: bool,
) -> Fraction | None:
    """Weighted share of the steps seen that were done: alone 1, prompted one half, a critical one prompted 0."""
    earned = possible = Fraction(0)
    for step in procedure.steps:
        mark = marks.get(step.letter)
        if mark not in (StepMark.DONE, StepMark.NOT_DONE) or (step.critical and not critical_too):
            continue
        weight = Fraction(str(step.weight))
        possible += weight
        if mark is StepMark.DONE:
            earned += weight * _credit(step, prompted, for_sign_off=for_sign_off)
    return earned / possible if possible else None


def _credit(step: Step, prompted: Collection[str], *, for_sign_off: bool) -> Fraction:
    if step.letter not in prompted:
        return Fraction(1)
    return Fraction(0) if step.critical and for_sign_off else Fraction(1, 2)


def _critical_step_reasons(
    procedure: Procedure, marks: Mapping[str, StepMark], prompted: Collection[str]
) -> list[Reason]:
    reasons = []
    for step in procedure.steps:
        mark = marks.get(step.letter)
        if not step.critical or mark is StepMark.NOT_CALLED_FOR:
            continue
        if mark is StepMark.NOT_DONE:
            reasons.append(_about(step, ReasonKind.CRITICAL_STEP_MISSED, "a critical step was not done"))
        elif step.letter in prompted:
            reasons.append(_about(step, ReasonKind.CRITICAL_STEP_PROMPTED, "a critical step was done only on a prompt"))
        elif mark is StepMark.NOT_SEEN:
            words = "a critical step was not seen; observe it again"
            reasons.append(_about(step, ReasonKind.CRITICAL_STEP_NOT_SEEN, words))
    return reasons


def _about(step: Step, kind: ReasonKind, words: str) -> Reason:
    return Reason(kind=kind, steps=(step.letter,), sentence=f"{step.letter}, {step.text}: {words}.")


def _pair_reasons(broken: Collection[BrokenPair]) -> list[Reason]:
    return [
        Reason(
            kind=ReasonKind.CRITICAL_PAIR_REVERSED,
            steps=(pair.first, pair.then),
            sentence=f"A critical order was reversed: {pair.sentence}.",
        )
        for pair in broken
        if pair.critical
    ]


def _time_reasons(intervals: Collection[Interval]) -> list[Reason]:
    words = {
        IntervalResult.NOT_MET: (ReasonKind.TIME_LIMIT_NOT_MET, "the local time limit was not met"),
        IntervalResult.NOT_MEASURED: (
            ReasonKind.TIME_LIMIT_NOT_MEASURED,
            "the local time limit could not be measured; observe it again",
        ),
    }
    return [
        Reason(kind=words[interval.result][0], steps=(), sentence=f"{interval.text}: {words[interval.result][1]}.")
        for interval in intervals
        if interval.counts and interval.result in words
    ]


def _unmarked_reason(procedure: Procedure, marks: Mapping[str, StepMark]) -> list[Reason]:
    unmarked = tuple(letter for letter in procedure.letters if letter not in marks)
    if not unmarked:
        return []
    sentence = f"Not marked yet: {', '.join(unmarked)}. Mark each as done, not done or not seen."
    return [Reason(kind=ReasonKind.STEP_UNMARKED, steps=unmarked, sentence=sentence)]


def _cut_reason(non_critical: Fraction | None, cut: Fraction) -> list[Reason]:
    if non_critical is None or non_critical >= cut:
        return []
    shown = math.floor(non_critical * 1000) / 10
    sentence = f"{shown:g} % of the non-critical steps were shown; the cut is {float(100 * cut):g} %."
    return [Reason(kind=ReasonKind.BELOW_CUT, steps=(), sentence=sentence)]


def _decision(reasons: Collection[Reason]) -> Decision:
    """Nothing to object: shown. A definite failure: not yet. What is left open: incomplete.

    While steps are unmarked the share of the non-critical steps is not final, so it fails nobody yet.
    """
    kinds = {reason.kind for reason in reasons}
    if ReasonKind.STEP_UNMARKED in kinds:
        kinds.discard(ReasonKind.BELOW_CUT)
    if not kinds:
        return Decision.SHOWN
    return Decision.INCOMPLETE if kinds <= OPEN_REASONS else Decision.NOT_YET
