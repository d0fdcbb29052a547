"""Axes and maps of lists and sheets."""

from __future__ import annotations

import itertools
import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.web.components import countdown_axis, order_map, place_scale, tenure_axis


@given(st.dates(min_value=date(2024, 1, 1), max_value=date(2032, 12, 31)))
def test_a_line_stands_at_every_first_of_a_month_of_the_year_ahead(today: date) -> None:
    axis = tenure_axis(today)
    drawn = {round(percent * 365 / 100) for percent in (*axis.fine_percents, *axis.main_percents)}
    firsts = {days for days in range(1, 366) if (today + timedelta(days=days)).day == 1}
    assert drawn == firsts | {0, 365}


def test_days_beyond_the_axis_stay_on_it() -> None:
    axis = countdown_axis()
    assert (axis.percent(-3), axis.percent(45), axis.percent(400)) == (0, 50, 100)


@given(st.integers(1, 40), st.integers(1, 40))
def test_the_place_is_on_the_line_and_as_many_marks_are_behind_as_were_passed(position: int, length: int) -> None:
    scale = place_scale(position, length)
    assert len(scale.ticks) == length
    assert sum(tick.is_past for tick in scale.ticks) == min(position - 1, length)
    assert 2 <= scale.now_percent <= 80


def test_a_step_stands_right_of_all_that_must_come_before_it() -> None:
    pairs = {("a", "b"), ("b", "c"), ("b", "d"), ("d", "e"), ("c", "e"), ("a", "f")}
    drawn = order_map("abcdef", pairs, {"b"})
    places = {node.key: node for node in drawn.nodes}
    assert all(places[first].x < places[then].x for first, then in pairs)
    assert len({(node.x, node.y) for node in drawn.nodes}) == 6
    assert [node.key for node in drawn.nodes if node.is_critical] == ["b"]


def test_no_line_of_the_map_runs_through_a_step_it_does_not_belong_to() -> None:
    pairs = {tuple(pair) for pair in ("ab", "bc", "bd", "be", "bf", "dh", "fg", "gi", "ei", "hi", "cj", "ij")}
    drawn = order_map("abcdefghij", pairs, set())
    places = {node.key: (node.x, node.y) for node in drawn.nodes}
    for (first, then), path in zip(sorted(pairs), drawn.lines, strict=True):
        stops = [tuple(map(int, stop.split())) for stop in path[1:].split("L")]
        assert (stops[0], stops[-1]) == (places[first], places[then])
        assert {places[key] for key in places} & set(stops[1:-1]) == set(), f"{first}{then} runs through a step"
        # Between two columns there is no step, so a line that stops in every column cannot meet one.
        assert {later[0] - earlier[0] for earlier, later in itertools.pairwise(stops)} == {62}


def test_every_line_ends_in_an_arrow_that_touches_the_step_it_leads_to() -> None:
    pairs = {tuple(pair) for pair in ("ab", "bc", "bd", "be", "bf", "dh", "fg", "gi", "ei", "hi", "cj", "ij")}
    drawn = order_map("abcdefghij", pairs, set())
    places = {node.key: (node.x, node.y) for node in drawn.nodes}
    for (_, then), tip in zip(sorted(pairs), drawn.tips, strict=True):
        point, *roots = [tuple(map(float, corner.split())) for corner in tip[1:-1].split("L")]
        assert math.dist(point, places[then]) == pytest.approx(15, abs=0.1)
        assert all(math.dist(root, places[then]) > 22 for root in roots)
        assert point[0] < places[then][0]


def test_the_map_says_its_order_in_words() -> None:
    drawn = order_map("abcd", {("a", "b"), ("b", "c"), ("b", "d")}, set())
    assert drawn.words == "a before b. b before c and d."
    assert order_map("ab", set(), set()).words == "Any order."


def test_a_cycle_cannot_be_drawn() -> None:
    with pytest.raises(ValueError, match="cycle"):
        order_map("ab", {("a", "b"), ("b", "a")}, set())
