"""What is drawn is read back from the drawing and compared with what was asked for."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.web.instruments.dial import degrees
from quizapp.web.instruments.figure import FigureError
from quizapp.web.instruments.render import render_figure
from quizapp.web.instruments.scale import Scale

TV_A = Scale(low=-10, high=60, minor=2, major=10)


def needle_angles(markup: str) -> list[float]:
    """Angles of the needles in a drawing, in degrees clockwise from straight up."""
    return [float(found) for found in re.findall(r"<g transform=\"rotate\((-?[\d.]+) 160 160\)\"", markup)]


def gauge(value: float, **more: object) -> str:
    return str(render_figure({"instrument": "airway-pressure-gauge", "needle_cmh2o": value, **more}))


@given(st.integers(min_value=-100, max_value=600).map(lambda tenths: tenths / 10))
def test_the_needle_stands_where_the_value_is(value: float) -> None:
    # A scale of 70 over 270 degrees, -10 at the lower left: ours, written out here again on purpose.
    assert needle_angles(gauge(value)) == pytest.approx([-135 + 270 * (value + 10) / 70], abs=0.006)


@given(st.integers(min_value=0, max_value=500).map(lambda tenths: tenths / 10))
def test_the_needle_follows_the_scale_of_the_profile(value: float) -> None:
    drawn = gauge(value, low_cmh2o=0, high_cmh2o=50, minor_cmh2o=1, major_cmh2o=5)
    assert needle_angles(drawn) == pytest.approx([-135 + 270 * value / 50], abs=0.006)


@pytest.mark.parametrize("value", [-10.5, 61])
def test_a_needle_off_the_scale_is_refused(value: float) -> None:
    with pytest.raises(FigureError, match="off the scale"):
        gauge(value)


def test_a_needle_points_at_the_very_mark_of_its_value() -> None:
    drawn = gauge(16)
    marks = re.search(r'class="dial-minor" d="([^"]+)"', drawn)
    assert marks is not None
    angles = [
        math.degrees(math.atan2(float(x) - 160, 160 - float(y)))
        for x, y in re.findall(r"M([\d.]+) ([\d.]+)L", marks[1])
    ]
    assert min(abs(angle - degrees(16, TV_A)) for angle in angles) < 0.05


def test_the_scale_of_the_usual_gauge_has_28_small_and_8_numbered_marks() -> None:
    drawn = gauge(0)
    small, numbered = (re.search(rf'class="dial-{kind}" d="([^"]+)"', drawn) for kind in ("minor", "major"))
    assert small is not None
    assert numbered is not None
    assert (small[1].count("M"), numbered[1].count("M")) == (28, 8)
    assert re.findall(r'class="dial-num"[^>]*>([^<]+)<', drawn) == ["−10", "0", "10", "20", "30", "40", "50", "60"]


def test_a_swing_has_a_hollow_needle_at_its_lower_end() -> None:
    drawn = str(render_figure({"instrument": "gauge-swing", "peak": 22, "baseline": 5}))
    assert needle_angles(drawn) == pytest.approx([-135 + 270 * 15 / 70, -135 + 270 * 32 / 70], abs=0.006)
    assert drawn.index("dial-ghost") < drawn.index('"dial-needle"')


def test_the_relief_mark_stands_at_its_value() -> None:
    drawn = gauge(20, relief_mark_cmh2o=50)
    tip = re.search(r'class="dial-relief" d="M([\d.]+) ([\d.]+)', drawn)
    assert tip is not None
    angle = math.degrees(math.atan2(float(tip[1]) - 160, 160 - float(tip[2])))
    assert angle == pytest.approx(degrees(50, TV_A), abs=0.1)


@given(st.integers(min_value=0, max_value=240))
def test_the_contents_needle_stands_where_the_value_is(bar: int) -> None:
    drawn = str(render_figure({"instrument": "contents_gauge", "numbers": {"needle_bar": [str(bar)]}, "words": {}}))
    assert needle_angles(drawn) == pytest.approx([-135 + 270 * bar / 240], abs=0.006)


@given(st.integers(min_value=0, max_value=250).map(lambda tenths: tenths / 10))
def test_the_middle_of_the_ball_stands_at_the_flow(flow_l_min: float) -> None:
    drawn = str(render_figure({"instrument": "flowmeter", "float_l_min": flow_l_min}))
    ball = re.search(r'class="tube-ball" cx="134" cy="([\d.]+)"', drawn)
    assert ball is not None
    assert (380 - float(ball[1])) / 340 * 25 == pytest.approx(flow_l_min, abs=0.001)


@pytest.mark.parametrize("value", [11.0, 14.3, 16.0, 19.9])
def test_the_flat_scale_has_needle_and_answer_at_their_values(value: float) -> None:
    drawn = str(render_figure({"instrument": "flat-scale", "needle": value, "written": 13}))
    places = [float(found) for found in re.findall(r'<svg x="([\d.]+)%" y="0"', drawn)]
    assert places == pytest.approx([(value - 10) * 10, 30], abs=0.01)


@pytest.mark.parametrize(("needle", "written"), [(225, 225), (240, 150), (0, 20), (200, None), (237.5, 5)])
def test_a_needle_beyond_the_last_numeral_is_laid_straight_as_well(needle: float, written: float | None) -> None:
    bars = {"low_bar": 0, "high_bar": 240, "minor_bar": 10, "major_bar": 50, "needle_bar": needle}
    drawn = str(render_figure({"instrument": "flat-scale", **bars, "written": written}))
    assert f"which is {needle:g}." in drawn


def test_an_answer_far_from_the_needle_is_named_and_not_drawn() -> None:
    drawn = str(render_figure({"instrument": "flat-scale", "needle": 16, "written": 58}))
    assert "flat-pen" not in drawn
    assert "You wrote 58, which is off this piece." in drawn


def test_an_unknown_instrument_is_refused_with_those_there_are() -> None:
    with pytest.raises(FigureError, match="capnogram, "):
        render_figure({"instrument": "weather-vane", "alt": ""})


def test_a_missing_number_is_named() -> None:
    with pytest.raises(FigureError, match="needle_bar"):
        render_figure({"instrument": "contents-gauge"})


@pytest.mark.parametrize("value", ["x", None, [None]])
def test_what_is_not_a_number_is_refused(value: object) -> None:
    with pytest.raises(FigureError):
        render_figure({"instrument": "flowmeter", "float_l_min": value})
