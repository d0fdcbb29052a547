"""Measures the intervals a procedure limits; only a limit with a recorded local standard may decide anything."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.procedures import LimitBasis, Procedure, TimeLimit


class IntervalResult(StrEnum):
    """How an interval stands against its limit."""

    MET = "met"
    NOT_MET = "not_met"
    NOT_MEASURED = "not_measured"
    NOT_CALLED_FOR = "not_called_for"


@dataclass(frozen=True, kw_only=True)
class LocalStandard:
    """A time limit the service has recorded for itself: who, why is in its record; here the figures in seconds."""

    at_most_s: float | None = None
    at_least_s: float | None = None


@dataclass(frozen=True, kw_only=True)
class Interval:
    """One measured interval. `censored`: it was still running at the stop, which counts as not met."""

    key: str
    text: str
    elapsed_s: float | None
    at_most_s: float | None
    at_least_s: float | None
    counts: bool
    censored: bool
    result: IntervalResult


def measure_intervals(
    procedure: Procedure,
    marks: Mapping[str, StepMark],
    done_at_s: Mapping[str, float],
    stopped_at_s: float | None,
    local_standards: Mapping[str, LocalStandard] | None = None,
) -> tuple[Interval, ...]:
    """Every time limit of the procedure against what was timed.

    `marks` are the marks as they count, `done_at_s` seconds from the start to each timed step, `stopped_at_s` the
    stop. `local_standards` maps a limit's key to the service's own figures, which replace the file's and count.
    """
    given = local_standards or {}
    return tuple(
        _measure(_in_force(limit, given.get(limit.key)), marks, done_at_s, stopped_at_s) for limit in procedure.limits
    )


@dataclass(frozen=True, kw_only=True)
class _InForce:
    limit: TimeLimit
    at_most_s: float | None
    at_least_s: float | None
    counts: bool


def _in_force(limit: TimeLimit, standard: LocalStandard | None) -> _InForce:
    figures = standard or limit
    counts = standard is not None or limit.basis is LimitBasis.STANDARD
    return _InForce(limit=limit, at_most_s=figures.at_most_s, at_least_s=figures.at_least_s, counts=counts)


def _measure(
    held: _InForce, marks: Mapping[str, StepMark], done_at_s: Mapping[str, float], stopped_at_s: float | None
) -> Interval:
    elapsed_s, censored, result = _elapsed(held.limit, marks, done_at_s, stopped_at_s)
    if result is None:
        result = _against(held, elapsed_s or 0.0, censored=censored)
    return Interval(
        key=held.limit.key,
        text=held.limit.text,
        elapsed_s=elapsed_s,
        at_most_s=held.at_most_s,
        at_least_s=held.at_least_s,
        counts=held.counts,
        censored=censored,
        result=result,
    )


def _against(held: _InForce, elapsed_s: float, *, censored: bool) -> IntervalResult:
    too_long = held.at_most_s is not None and elapsed_s > held.at_most_s
    too_short = held.at_least_s is not None and elapsed_s < held.at_least_s
    return IntervalResult.NOT_MET if censored or too_long or too_short else IntervalResult.MET


def _elapsed(
    limit: TimeLimit, marks: Mapping[str, StepMark], done_at_s: Mapping[str, float], stopped_at_s: float | None
) -> tuple[float | None, bool, IntervalResult | None]:
    """Seconds, whether the stop cut the interval short, and a result where there is nothing to compare."""
    ends = [step for step in limit.to_steps if marks.get(step) is not StepMark.NOT_CALLED_FOR]
    starts = [step for step in limit.from_steps if marks.get(step) is not StepMark.NOT_CALLED_FOR]
    if not ends or (limit.from_steps and not starts):
        return None, False, IntervalResult.NOT_CALLED_FOR
    begun = [done_at_s[step] for step in starts if step in done_at_s]
    if not limit.from_steps and stopped_at_s is None and not done_at_s:
        return None, False, IntervalResult.NOT_MEASURED
    if limit.from_steps and not begun:
        return None, False, IntervalResult.NOT_MEASURED
    begin_s = min(begun, default=0.0)
    if all(step in done_at_s for step in ends):
        return max(0.0, max(done_at_s[step] for step in ends) - begin_s), False, None
    unseen = any(marks.get(step) in (StepMark.NOT_SEEN, StepMark.DONE) for step in ends if step not in done_at_s)
    if unseen or stopped_at_s is None or stopped_at_s < begin_s:
        return None, False, IntervalResult.NOT_MEASURED
    return stopped_at_s - begin_s, True, None
