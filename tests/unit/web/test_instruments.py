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
from tests.reading_drawings import needle_angles

TV_A = Scale(low=-10, high=60, minor=2, major=10)


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


HALVES = st.integers(min_value=-20, max_value=120).map(lambda half: half / 2)


@given(HALVES, HALVES)
def test_a_swing_has_a_hollow_needle_at_its_lower_end(peak: float, baseline: float) -> None:
    drawn = str(render_figure({"instrument": "gauge-swing", "peak": peak, "baseline": baseline}))
    angles = [-135 + 270 * (value + 10) / 70 for value in (baseline, peak)]
    assert needle_angles(drawn) == pytest.approx(angles, abs=0.006)
    assert drawn.index("dial-ghost") < drawn.index('"dial-needle"')


@given(HALVES)
def test_the_relief_mark_stands_at_its_value(relief: float) -> None:
    tip = re.search(r'class="dial-relief" d="M([\d.]+) ([\d.]+)', gauge(20, relief_mark_cmh2o=relief))
    assert tip is not None
    angle = math.degrees(math.atan2(float(tip[1]) - 160, 160 - float(tip[2])))
    assert angle == pytest.approx(degrees(relief, TV_A), abs=0.1)


@given(st.tuples(*[st.integers(0, 100).map(lambda percent: percent / 100)] * 4))
def test_every_control_points_where_it_is_set(shares: tuple[float, float, float, float]) -> None:
    """From the lower left, 270 degrees round to the lower right; the oxygen control begins at air."""
    flow, peak, throttle, oxygen = shares
    settings = {"flow_l_min": 25 * flow, "peak_cmh2o": 50 * peak, "rate_control_fraction": throttle}
    drawn = str(
        render_figure({"instrument": "controls", **settings, "oxygen_fraction": 0.21 + 0.79 * oxygen, "alt": "Dials."})
    )
    ends = re.findall(r'class="dial-major" d="M50 50L([\d.]+) ([\d.]+)"', drawn)
    angles = [math.degrees(math.atan2(float(x) - 50, 50 - float(y))) for x, y in ends]
    assert angles == pytest.approx([-135 + 270 * share for share in shares], abs=0.05)


@given(st.lists(st.tuples(st.sampled_from([2, 3, 5, 10]), st.integers(0, 200)), min_size=1, max_size=4))
def test_cylinders_are_filled_as_their_gauges_say(cylinders: list[tuple[int, int]]) -> None:
    water, bars = ([pair[at] for pair in cylinders] for at in (0, 1))
    figure = {"instrument": "cylinders", "water_l": water, "pressure_bar": bars, "full_bar": 200, "alt": "Cylinders."}
    drawn = str(render_figure(figure))
    bodies, fills = (
        [float(height) for height in re.findall(rf'class="bottle-{part}"[^>]* height="([\d.]+)"', drawn)]
        for part in ("body", "fill")
    )
    assert [fill / body for fill, body in zip(fills, bodies, strict=True)] == pytest.approx(
        [bar / 200 for bar in bars], abs=0.002
    )


@pytest.mark.parametrize("high", [240, 300])
@given(percent=st.integers(0, 100))
def test_the_contents_needle_stands_where_the_value_is(high: int, percent: int) -> None:
    numbers = {"needle_bar": [str(high * percent / 100)], "high_bar": [str(high)]}
    drawn = str(render_figure({"instrument": "contents_gauge", "numbers": numbers, "words": {}}))
    assert needle_angles(drawn) == pytest.approx([-135 + 270 * percent / 100], abs=0.006)


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
