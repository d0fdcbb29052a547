from __future__ import annotations

from math import exp, inf, isfinite, log

import pytest

from quizapp.psychometrics.item_response import (
    WeighedAnswer,
    chance_right,
    difficulty_of,
    episode_weight,
    log_logistic,
)


@pytest.mark.parametrize("logit", [-1e6, -745.0, -40.0, 0.0, 40.0, 745.0, 1e6])
def test_the_logistic_curve_never_overflows(logit: float) -> None:
    assert isfinite(log_logistic(logit))
    assert log_logistic(logit) <= 0
    assert 0.0 <= chance_right(logit, slope=1.0, difficulty=0.0) <= 1.0


def test_the_logistic_curve_is_itself_where_the_plain_formula_holds() -> None:
    for logit in (-5.0, -0.3, 0.0, 2.0, 20.0):
        assert log_logistic(logit) == pytest.approx(log(1 / (1 + exp(-logit))), abs=1e-12)


@pytest.mark.parametrize(("share", "slope", "guess"), [(0.9, 1.3, 0.0), (0.75, 0.8, 0.02), (0.75, 0.8, 0.25)])
def test_the_just_competent_are_right_with_the_share_given(share: float, slope: float, guess: float) -> None:
    difficulty = difficulty_of(share, slope=slope, guess_fraction=guess)
    assert chance_right(0.0, slope=slope, difficulty=difficulty, guess_fraction=guess) == pytest.approx(share)


@pytest.mark.parametrize("share", [0.25, 0.1, 1.0, 0.0])
def test_a_share_that_guessing_reaches_alone_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="just competent"):
        difficulty_of(share, slope=0.8, guess_fraction=0.25)


def test_the_design_effect_of_the_defaults() -> None:
    assert episode_weight(1.0, 12, 0.1) == pytest.approx(1 / 2.1)
    assert episode_weight(1.0, 10, 0.05) == pytest.approx(1 / 1.45)
    assert episode_weight(0.5, 1, 0.05) == 0.5
    with pytest.raises(ValueError, match="at least one"):
        episode_weight(1.0, 0, 0.1)


def answer(**changed: float) -> WeighedAnswer:
    fields = {"slope": 1.0, "difficulty": 0.0, "guess_fraction": 0.0, "credit_fraction": 1.0, "weight": 1.0}
    return WeighedAnswer(**{**fields, **changed})


@pytest.mark.parametrize(
    "changed", [{"slope": 0.0}, {"guess_fraction": 1.0}, {"credit_fraction": 1.2}, {"weight": -1.0},
                {"weight": float("nan")}, {"slope": -inf}]
)  # fmt: skip
def test_what_is_no_evidence_is_refused(changed: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"no evidence|weight"):
        answer(**changed)
