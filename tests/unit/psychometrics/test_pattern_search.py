from __future__ import annotations

import pytest
from scipy.optimize import minimize

from quizapp.psychometrics.pattern_search import Point, lowest_place


def valley(place: Point) -> float:
    x, y = place
    return (x - 0.7) ** 2 + 3 * (y + 1.2) ** 2 + 0.5 * x * y


def test_it_ends_where_a_general_minimiser_does() -> None:
    best = minimize(lambda place: valley(tuple(place)), [0.0, 0.0])
    found = lowest_place(valley, (0.0, 0.0), (0.5, 0.5), halvings=12)
    assert found == pytest.approx(tuple(best.x), abs=1e-3)


def test_it_stays_where_nothing_is_lower_and_counts_what_it_tried() -> None:
    heard: list[float] = []
    assert lowest_place(lambda place: abs(place[0]), (0.0,), (1.0,), halvings=2, told=heard.append) == (0.0,)
    assert len(heard) == 1 + 2 * 3


def test_a_cost_without_bound_elsewhere_is_never_entered() -> None:
    found = lowest_place(lambda place: float("inf") if place[0] > 1 else -place[0], (0.0,), (0.4,), halvings=6)
    assert found[0] <= 1
    assert found[0] > 0.95
