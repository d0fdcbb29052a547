"""Curves are read back from their drawings and compared with the numbers they were drawn from."""

from __future__ import annotations

import itertools
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.figure_kinds import CAPNOGRAM_SHAPES, PRESSURE_SHAPES
from quizapp.web.instruments.figure import FigureError
from quizapp.web.instruments.render import render_figure
from tests.reading_drawings import drawn_curves

TRACE = {"instrument": "pressure-time-trace", "inflation_s": 1.2, "expiration_s": 2.55}
CO2 = {"instrument": "capnogram", "end_tidal_mmhg": 45, "inflation_s": 1.2, "expiration_s": 2.55}


ends = st.tuples(st.integers(14, 36), st.integers(2, 9), st.integers(8, 24), st.sampled_from([1.5, 2.0, 3.0]))


@given(ends)
def test_a_drawn_trace_has_the_peak_the_baseline_and_the_rate_asked_for(drawn: tuple[int, int, int, float]) -> None:
    peak, baseline, rate, parts = drawn
    figure = {
        "instrument": "pressure_trace",
        "peak_cmh2o": peak,
        "baseline_cmh2o": baseline,
        "rate": rate,
        "ratio": parts,
    }
    (points,) = drawn_curves(figure)
    values = [value for _, value in points]
    assert (max(values), min(values)) == pytest.approx((peak, baseline), abs=0.05)
    tops = [at for at, value in points if value > peak - 0.005]
    assert max(later - earlier for earlier, later in itertools.pairwise(tops)) == pytest.approx(60 / rate, abs=0.03)


def test_sampled_points_are_drawn_as_they_are() -> None:
    sampled = [(0.0, 5.0), (1.0, 20.5), (1.0, 18.0), (3.5, 5.25), (10.0, 5.0)]
    (points,) = drawn_curves({"instrument": "pressure-time-trace", "points": sampled, "alt": ""})
    assert list(itertools.chain(*points)) == pytest.approx(list(itertools.chain(*sampled)), abs=0.01)


def test_a_line_of_the_paper_stands_at_every_half_second_and_every_second_unit() -> None:
    plot = str(render_figure({**TRACE, "peak_cmh2o": 22, "baseline_cmh2o": 4}))
    columns = re.findall(r'<line class="g-(?:main|fine)" x1="([\d.]+)%" x2="\1%" y1="0"', plot)
    rows = re.findall(r'<line class="g-(?:main|fine)" x1="0" x2="100%" y1="([\d.]+)%"', plot)
    assert [float(at) for at in columns] == pytest.approx([step / 30 * 100 for step in range(31)], abs=0.01)
    assert sorted(float(at) for at in rows) == pytest.approx([step / 15 * 100 for step in range(16)], abs=0.01)


def test_times_never_run_backwards_in_any_shape() -> None:
    for shape in PRESSURE_SHAPES:
        (points,) = drawn_curves({**TRACE, "peak_cmh2o": 22, "baseline_cmh2o": 4, "shape": shape})
        times = [at for at, _ in points]
        assert times == sorted(times), shape
        assert (times[0], times[-1]) == pytest.approx((0, 15), abs=0.01), shape


def test_a_stalled_device_stays_where_it_stopped() -> None:
    for shape, level in (("stalled_inflation", 15.0), ("stalled_expiration", 7.0)):
        figure = {**TRACE, "peak_cmh2o": 22, "baseline_cmh2o": 4, "shape": shape, "later_peak_cmh2o": level}
        (points,) = drawn_curves(figure)
        assert [value for at, value in points if at > 14.5] == pytest.approx(
            [level] * len([a for a, _ in points if a > 14.5]), abs=0.1
        )


def test_a_leak_takes_longer_to_rise_through_the_upper_half_than_a_tight_system() -> None:
    def upper_half_s(shape: str) -> float:
        (points,) = drawn_curves({**TRACE, "peak_cmh2o": 22, "baseline_cmh2o": 4, "shape": shape, "lead_s": 0})
        rise = [at for at, value in points if at <= 1.2 and value >= 13]
        return max(rise) - min(rise)

    assert upper_half_s("leak") > 1.3 * upper_half_s("normal")


def test_a_change_begins_with_the_first_breath_after_its_moment() -> None:
    figure = {**TRACE, "peak_cmh2o": 20, "baseline_cmh2o": 4, "change_at_s": 7, "later_peak_cmh2o": 28}
    (points,) = drawn_curves(figure)
    assert max(value for at, value in points if at < 7.8) == pytest.approx(20, abs=0.05)
    assert max(value for at, value in points if at > 7.85) == pytest.approx(28, abs=0.05)


@given(st.integers(18, 70), st.integers(0, 8), st.integers(8, 24))
def test_a_capnogram_reaches_its_end_tidal_value_and_rests_on_its_baseline(top: int, baseline: int, rate: int) -> None:
    figure = {"instrument": "capnogram", "end_tidal_mmhg": top, "baseline_mmhg": baseline, "rate": rate, "ratio": 2}
    (points,) = drawn_curves(figure)
    values = [value for _, value in points]
    assert (max(values), min(values)) == pytest.approx((top, baseline), abs=0.1)
    falls = [at for (at, value), (_, after) in itertools.pairwise(points) if value > top - 0.05 and after < value]
    assert falls[1] - falls[0] == pytest.approx(60 / rate, abs=0.05)


@pytest.mark.parametrize("shape", CAPNOGRAM_SHAPES)
def test_every_declared_capnogram_shape_can_be_drawn_and_differs(shape: str) -> None:
    baseline = 8 if shape == "raised_baseline" else 0
    (points,) = drawn_curves({**CO2, "shape": shape, "baseline_mmhg": baseline})
    (normal,) = drawn_curves(CO2)
    assert (points == normal) is (shape == "normal")


def test_the_start_of_the_plateau_can_be_set() -> None:
    (points,) = drawn_curves({**CO2, "shoulder_mmhg": 30, "lead_s": 0})
    times = [at for at, value in points if 29.9 < value < 30.1 and 1.2 < at < 3.75]
    assert times, "the curve passes the shoulder"
    plateau = [value for at, value in points if times[0] < at < 3.7]
    assert plateau == sorted(plateau)


def test_the_four_trends_are_drawn_from_their_values() -> None:
    series = {"rate_per_min": [12, 13, 15, 18], "peak_cmh2o": [22, 22, 22, 22], "end_tidal_mmhg": [38, 41, 45, 50]}
    curves = drawn_curves(
        {"instrument": "trend", **series, "saturation_percent": [98, 97, 97, 95], "alt": "Four lines."}
    )
    assert [round(value, 2) for _, value in curves[0]] == [12, 13, 15, 18]
    assert [round(value, 2) for _, value in curves[3]] == [98, 97, 97, 95]
    assert len(curves) == 4


def test_series_of_unequal_length_are_refused() -> None:
    with pytest.raises(FigureError, match="2 values for 3 minutes"):
        render_figure({"instrument": "trend", "rate_per_min": [12, 13, 14], "peak_cmh2o": [22, 22]})


def test_after_one_time_constant_37_percent_is_still_in_the_lung() -> None:
    # First-order emptying: e to the -1 = 0.3679 (mathematics).
    (points,) = drawn_curves(
        {"instrument": "emptying-curve", "volume_ml": 500, "time_constant_s": 0.8, "expiration_s": 2}
    )
    value = next(value for at, value in points if abs(at - 0.8) < 1e-3)
    assert value / 500 == pytest.approx(math.exp(-1), abs=0.001)


def test_the_next_breath_is_marked_at_the_end_of_expiration() -> None:
    drawn = str(
        render_figure({"instrument": "volume_curve", "volume_ml": 500, "time_constant_s": 0.8, "expiration_s": 2})
    )
    assert re.search(r'class="c-need" x1="80%"', drawn), "2 s of 2.5 s"


@pytest.mark.parametrize("lead_s", [0.35, 1.0, 5.0])
def test_the_first_inflation_of_a_capnogram_begins_after_the_lead(lead_s: float) -> None:
    (points,) = drawn_curves({**CO2, "lead_s": lead_s})
    last_full = max(at for at, value in points if value > 44.99 and at <= lead_s + 0.01)
    assert last_full == pytest.approx(lead_s, abs=0.005)
