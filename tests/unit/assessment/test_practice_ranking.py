from __future__ import annotations

import pytest

from quizapp.assessment.practice_ranking import PracticeCandidate, ranked
from quizapp.psychometrics.competence_gaussian import Moments
from quizapp.psychometrics.fade_model import FadeModel


def candidate(code: str, mean: float, variance: float, half_life: float, weight: float, minutes: float,
              *, is_critical: bool = False) -> PracticeCandidate:  # fmt: skip
    return PracticeCandidate(
        code=code,
        moments=Moments(mean=mean, variance=variance),
        model=FadeModel(half_life_days=half_life),
        weight=weight,
        minutes=minutes,
        is_critical=is_critical,
    )


WORKED = [
    candidate("gas endurance", 0.9, 0.20, 365, 3, 6),
    candidate("handover", 1.6, 0.25, 396, 1, 5),
    candidate("recognise obstruction", 0.6, 0.30, 198, 4, 8),
    candidate("assemble and leak-check", 1.4, 0.20, 335, 5, 12),
    candidate("set pressure and rate", 1.0, 0.25, 198, 5, 10),
]


def test_the_worked_table() -> None:
    """Worked in closed form by an independent program: gain a minute within 1e-5, chances and gains as printed."""
    found = ranked(WORKED)
    assert [one.candidate.code for one in found] == [
        "recognise obstruction", "set pressure and rate", "gas endurance", "assemble and leak-check", "handover",
    ]  # fmt: skip
    for one, gain_per_minute in zip(found, (0.07443, 0.046519, 0.045508), strict=False):
        assert one.gain_per_minute == pytest.approx(gain_per_minute, abs=1e-5)
    assert [round(one.gain_per_minute, 4) for one in found[3:]] == [0.0094, 0.0018]
    assert [round(one.chance_later_fraction, 3) for one in found[:4]] == [0.516, 0.662, 0.787, 0.912]
    assert [round(one.chance_practised_fraction, 3) for one in found[:4]] == [0.665, 0.755, 0.878, 0.935]
    assert round(found[0].gain, 3) == 0.595


def test_a_critical_one_under_the_threshold_goes_before_a_larger_gain() -> None:
    critical = candidate("critical", 0.5, 0.40, 335, 1, 60, is_critical=True)
    found = ranked([*WORKED, critical])
    assert found[0].candidate is critical
    assert found[0].gain_per_minute < found[1].gain_per_minute


def test_a_critical_one_above_the_threshold_waits_for_its_turn() -> None:
    safe = candidate("critical", 2.5, 0.10, 335, 5, 10, is_critical=True)
    found = ranked([*WORKED, safe])
    assert not found[0].goes_first
    assert found[0].candidate.code == "recognise obstruction"


def test_equal_ones_keep_the_order_of_their_codes() -> None:
    twins = [candidate(code, 0.5, 0.3, 335, 2, 5) for code in ("C9", "C1", "C5")]
    assert [one.candidate.code for one in ranked(twins)] == ["C1", "C5", "C9"]


def test_practice_that_takes_no_time_is_refused() -> None:
    with pytest.raises(ValueError, match="minutes"):
        ranked([candidate("C1", 0, 1, 335, 1, 0)])
