"""n counts performances; nobody is judged on fewer than thirty double observations."""

from __future__ import annotations

from dataclasses import replace

import pytest

from quizapp.assessment.assessor_agreement import (
    DoubleObservation,
    agreement_of_assessor,
    agreement_over,
    step_agreement,
)
from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.third_assessor import PossibleThird, propose_third

SHOWN, NOT_YET, INCOMPLETE = Decision.SHOWN, Decision.NOT_YET, Decision.INCOMPLETE
DONE, NOT_DONE, NOT_SEEN = StepMark.DONE, StepMark.NOT_DONE, StepMark.NOT_SEEN


def double(
    first: Decision = SHOWN,
    second: Decision = SHOWN,
    *,
    marks: tuple[StepMark, StepMark] = (DONE, DONE),
    totals: tuple[float | None, float | None] = (0.9, 0.8),
    who: tuple[str, str] = ("tor", "una"),
) -> DoubleObservation:
    return DoubleObservation(
        procedure="P06",
        assessor_ids=who,
        decisions=(first, second),
        marks=({"a": marks[0]}, {"a": marks[1]}),
        totals=totals,
    )


def test_decisions_leave_out_what_is_incomplete() -> None:
    """20 + 5 + 10 + 15 performances as in the teaching table with kappa .40 (from memory), and three incomplete."""
    doubles = [double()] * 20 + [double(SHOWN, NOT_YET)] * 5 + [double(NOT_YET, SHOWN)] * 10
    doubles += [double(NOT_YET, NOT_YET)] * 15 + [double(INCOMPLETE, SHOWN)] * 3
    report = agreement_over(doubles)
    assert report.performances == 53
    assert report.decisions is not None
    assert report.decisions.performances == 50
    assert report.decisions.kappa == pytest.approx(0.40)


def test_a_step_counts_performances_where_both_say_done_or_not() -> None:
    doubles = [double()] * 8 + [double(marks=(DONE, NOT_DONE))] + [double(marks=(DONE, NOT_SEEN))] * 5
    found = step_agreement(doubles, "ab")
    assert found["a"] is not None
    assert (found["a"].performances, found["a"].observed_fraction) == (9, pytest.approx(8 / 9))
    assert found["b"] is None


@pytest.mark.parametrize(("count", "says"), [(29, False), (30, True)])
def test_nothing_is_said_about_an_assessor_under_thirty(count: int, says: bool) -> None:
    doubles = [double(who=("tor", "una") if n % 2 else ("una", "tor")) for n in range(count)]
    found = agreement_of_assessor([*doubles, double(who=("x", "y"))], "tor")
    assert (found.performances, found.report is not None, found.missing) == (count, says, 30 - count)


def test_an_assessor_comes_first_whoever_opened_first() -> None:
    doubles = [double(SHOWN, NOT_YET, who=("una", "tor"))] * 30
    report = agreement_of_assessor(doubles, "tor").report
    assert report is not None
    assert report.decisions is not None
    turned = doubles[0].seen_by("tor")
    assert (turned.assessor_ids, turned.decisions, turned.totals) == (("tor", "una"), (NOT_YET, SHOWN), (0.8, 0.9))


def test_two_totals_are_needed_for_an_intraclass_correlation() -> None:
    assert agreement_over([double(), double(totals=(None, 0.4))]).totals is None
    assert agreement_over([double(), double(totals=(0.2, 0.3))]).totals is not None


def third(name: str, *, current: bool = True, connected: tuple[str, ...] = (), busy: int = 0) -> PossibleThird:
    return PossibleThird(
        person_id=name, name=name, is_current=current, connected_with=frozenset(connected), watched_lately=busy
    )


def test_a_third_is_current_unconnected_and_nobody_concerned_and_the_least_busy_comes_first() -> None:
    found = propose_third(
        [
            third("mira"), third("tor"), third("una"), third("old", current=False), third("kin", connected=("mira",)),
            third("pal", connected=("una",)), third("busy", busy=4), third("idle"), third("far", connected=("x",)),
        ],
        person_id="mira",
        assessor_ids=("tor", "una"),
    )  # fmt: skip
    assert [one.name for one in found] == ["far", "idle", "busy"]


def test_a_third_from_elsewhere_is_named_only_where_nobody_here_can() -> None:
    here, far = third("here"), replace(third("afar"), elsewhere="Portlarn")
    arguments = {"person_id": "mira", "assessor_ids": ("tor", "una")}
    assert propose_third([far, here], **arguments) == (here,)  # type: ignore[arg-type]
    assert propose_third([far, third("old", current=False)], **arguments) == (far,)  # type: ignore[arg-type]
