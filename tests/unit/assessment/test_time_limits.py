from dataclasses import replace

import pytest
from procedure_builder import procedure, sheet

from quizapp.assessment.observation_rules import Decision, ReasonKind, judge_observation
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.procedures import LimitBasis, TimeLimit
from quizapp.assessment.time_limits import Interval, IntervalResult, LocalStandard, measure_intervals

MET, NOT_MET = IntervalResult.MET, IntervalResult.NOT_MET
NOT_MEASURED, NOT_CALLED_FOR = IntervalResult.NOT_MEASURED, IntervalResult.NOT_CALLED_FOR


def limit(start: str, end: str, **figures: object) -> TimeLimit:
    return TimeLimit(
        key="limit",
        text="b within 10 s of a",
        from_steps=tuple(start),
        to_steps=tuple(end),
        basis=LimitBasis(str(figures.pop("basis", "teaching target"))),
        source="ours",
        **figures,  # type: ignore[arg-type]
    )


def measured(one: TimeLimit, times: dict[str, float], stopped_at_s: float | None = 100, **marks: StepMark) -> Interval:
    with_limit = replace(procedure(), limits=(one,))
    all_marks = dict.fromkeys(times, StepMark.DONE) | marks
    (interval,) = measure_intervals(with_limit, all_marks, times, stopped_at_s)
    return interval


@pytest.mark.parametrize(
    ("one", "times", "elapsed_s", "result"),
    [
        (limit("a", "b", at_most_s=10), {"a": 5, "b": 15}, 10, MET),
        (limit("a", "b", at_most_s=10), {"a": 5, "b": 15.1}, 10.1, NOT_MET),
        (limit("", "b", at_most_s=10), {"b": 10}, 10, MET),
        (limit("a", "b", at_least_s=20), {"a": 0, "b": 20}, 20, MET),
        (limit("a", "b", at_least_s=20), {"a": 0, "b": 19}, 19, NOT_MET),
        (limit("a", "b", at_most_s=10), {"a": 9, "b": 2}, 0, MET),  # b came even before a
        (limit("bcd", "bcd", at_most_s=60), {"c": 3, "d": 50, "b": 70}, 67, NOT_MET),
        (limit("bcd", "bcd", at_most_s=60), {"c": 3, "d": 50, "b": 60}, 57, MET),
    ],
)
def test_measured_from_the_earliest_to_the_latest(
    one: TimeLimit, times: dict[str, float], elapsed_s: float, result: IntervalResult
) -> None:
    interval = measured(one, times)
    assert interval.elapsed_s == pytest.approx(elapsed_s)
    assert interval.result is result
    assert not interval.censored


def test_an_interval_cut_short_by_the_stop_is_not_met() -> None:
    interval = measured(limit("a", "b", at_most_s=200), {"a": 5}, 60, b=StepMark.NOT_DONE)
    assert (interval.elapsed_s, interval.censored, interval.result) == (55, True, NOT_MET)


@pytest.mark.parametrize(
    ("times", "stopped_at_s", "marks", "result"),
    [
        ({"b": 5}, 60, {}, NOT_MEASURED),  # nobody saw it begin
        ({"a": 5}, None, {}, NOT_MEASURED),  # still running
        ({"a": 5}, 60, {"b": StepMark.NOT_SEEN}, NOT_MEASURED),
        ({"a": 5}, 60, {"b": StepMark.DONE}, NOT_MEASURED),  # done, but put in place by hand
        ({"a": 5}, 60, {"b": StepMark.NOT_CALLED_FOR}, NOT_CALLED_FOR),
        ({"b": 5}, 60, {"a": StepMark.NOT_CALLED_FOR}, NOT_CALLED_FOR),
    ],
)
def test_what_cannot_be_measured(
    times: dict[str, float], stopped_at_s: float | None, marks: dict[str, StepMark], result: IntervalResult
) -> None:
    assert measured(limit("a", "b", at_most_s=10), times, stopped_at_s, **marks).result is result


SLOW = sheet("abcd", done_at_s=(("a", 1.0), ("b", 60.0)), stopped_at_s=90.0)


def test_a_teaching_target_is_shown_and_never_decides() -> None:
    target = replace(procedure(), limits=(limit("a", "b", at_most_s=10),))
    result = judge_observation(target, SLOW)
    assert result.intervals[0].result is NOT_MET
    assert result.decision is Decision.SHOWN


def test_a_local_standard_decides_with_its_own_figures() -> None:
    target = replace(procedure(), limits=(limit("a", "b", at_most_s=10),))
    strict = judge_observation(target, SLOW, local_standards={"limit": LocalStandard(at_most_s=30)})
    assert strict.decision is Decision.NOT_YET
    assert [reason.kind for reason in strict.reasons] == [ReasonKind.TIME_LIMIT_NOT_MET]
    assert strict.intervals[0].at_most_s == 30
    mild = judge_observation(target, SLOW, local_standards={"limit": LocalStandard(at_most_s=60)})
    assert mild.decision is Decision.SHOWN


def test_a_standard_that_was_not_measured_is_incomplete() -> None:
    standard = replace(procedure(), limits=(limit("a", "b", at_most_s=10, basis="standard"),))
    result = judge_observation(standard, sheet("abcd"))
    assert result.decision is Decision.INCOMPLETE
    assert [reason.kind for reason in result.reasons] == [ReasonKind.TIME_LIMIT_NOT_MEASURED]
