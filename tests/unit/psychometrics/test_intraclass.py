"""Totals that say nothing, totals that always agree, and too few of them."""

from __future__ import annotations

import pytest

from quizapp.psychometrics.intraclass import one_way_intraclass


def test_totals_that_never_differ_give_no_figure() -> None:
    assert one_way_intraclass([[1.0, 1.0], [1.0, 1.0]]).single is None


def test_pairs_that_always_agree_give_one() -> None:
    found = one_way_intraclass([[0.2, 0.2], [0.9, 0.9], [0.5, 0.5]])
    assert (found.single, found.lower, found.upper) == (1.0, 1.0, 1.0)


def test_assessors_who_differ_more_than_performances_go_below_nought() -> None:
    single = one_way_intraclass([[0.2, 0.9], [0.9, 0.2]]).single
    assert single is not None
    assert single < 0


def test_exchanging_the_two_assessors_of_a_performance_changes_nothing() -> None:
    there = one_way_intraclass([[0.2, 0.3], [0.9, 0.7], [0.5, 0.6]])
    back = one_way_intraclass([[0.3, 0.2], [0.9, 0.7], [0.6, 0.5]])
    assert there.single == pytest.approx(back.single)


@pytest.mark.parametrize("totals", [[], [[1.0, 2.0]], [[1.0], [2.0]], [[1.0, 2.0], [1.0]]])
def test_too_little_to_say_anything_is_refused(totals: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="two performances"):
        one_way_intraclass(totals)
