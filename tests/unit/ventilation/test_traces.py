"""Traces show the model they come from: peaks, times and volumes read off them are those of the closed form."""

import itertools
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from model_settings import any_settings, baseline

from quizapp.ventilation.pressure_cycling import CyclingState, breathe
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.traces import Phase, passive_trace


@given(any_settings())
def test_times_and_volumes_read_off_a_trace_are_those_of_the_model(device):
    expected = breathe(device)
    assume(expected.state is CyclingState.CYCLING and expected.tidal_volume_ml > 5)
    cycle = 60 / expected.rate_per_min
    trace = passive_trace(device, min(2.5 * cycle, 600), step_s=max(cycle / 50, 0.001))
    times = [switch.time_s for switch in trace.switches[:4]]
    assert times == pytest.approx([expected.inflation_s, cycle, cycle + expected.inflation_s, 2 * cycle])
    volumes = [switch.volume_ml for switch in trace.switches[:2]]
    assert volumes[0] - volumes[1] == pytest.approx(expected.tidal_volume_ml)
    assert max(trace.pressure_cmh2o) == pytest.approx(device.peak_cmh2o)
    assert min(trace.pressure_cmh2o) == pytest.approx(device.restart_cmh2o)


@pytest.mark.parametrize("changes", [{}, {"leak": 50.0}, {"outlet_pressure_cmh2o": 3.0}])
def test_flow_is_the_slope_of_volume(changes):
    trace = passive_trace(baseline(**changes), 8, step_s=0.001)
    for i in range(1, len(trace.times_s) - 1):
        before, after = trace.times_s[i] - trace.times_s[i - 1], trace.times_s[i + 1] - trace.times_s[i]
        if min(before, after) > 0.0009:
            slope = (trace.volume_ml[i + 1] - trace.volume_ml[i - 1]) / (before + after)
            assert slope * 60 / 1000 == pytest.approx(trace.flow_l_min[i], abs=0.01)


def test_a_resistance_shows_as_a_step_at_the_start_of_inflation():
    normal, tight = passive_trace(baseline(), 1), passive_trace(baseline(airway=15.0), 0.3)
    assert normal.pressure_cmh2o[0] == pytest.approx(5.625 + 5 * 0.5)
    assert tight.pressure_cmh2o[0] == pytest.approx(5 + 5 * 15 / 40 + 15 * 0.5)


def test_a_stiff_lung_shows_as_a_steeper_ramp_to_the_same_peak():
    def ramp(device):
        trace = passive_trace(device, 0.5)
        return (trace.pressure_cmh2o[10] - trace.pressure_cmh2o[0]) / trace.times_s[10]

    assert ramp(baseline(compliance_l_cmh2o=0.025)) == pytest.approx(2 * ramp(baseline()))


def test_a_leak_bends_the_ramp_and_a_larger_one_parks_the_needle():
    bent = passive_trace(baseline(leak=50.0), 3, step_s=0.5).pressure_cmh2o
    rises = [b - a for a, b in itertools.pairwise(bent[:6])]
    assert rises == sorted(rises, reverse=True)
    parked = passive_trace(baseline(leak=30.0), 40)
    assert parked.switches == ()
    assert parked.pressure_cmh2o[-1] == pytest.approx(15, abs=0.01)


def test_a_shut_throttle_with_flow_through_it_parks_above_the_restart_pressure():
    trace = passive_trace(baseline(outlet_pressure_cmh2o=7.0), 40)
    assert [switch.into for switch in trace.switches] == [Phase.EXPIRATION]
    assert trace.pressure_cmh2o[-1] == pytest.approx(7, abs=0.01)


def test_a_blocked_exhaust_holds_the_pressure():
    trace = passive_trace(baseline(throttle_resistance_cmh2o_s_l=math.inf), 10)
    assert trace.pressure_cmh2o[-1] == pytest.approx(17.5)
    assert trace.flow_l_min[-1] == 0


def test_a_disconnection_is_flat_near_zero():
    assert max(passive_trace(baseline(leak=0.5), 5).pressure_cmh2o[10:]) < 1


def test_samples_stand_on_the_step_and_on_both_sides_of_every_switch():
    trace = passive_trace(baseline(), 5, step_s=0.5)
    assert {0.5 * number for number in range(11)} <= {round(moment, 9) for moment in trace.times_s}
    assert all(trace.times_s.count(switch.time_s) == 2 for switch in trace.switches)
    assert list(trace.times_s) == sorted(trace.times_s)


@given(st.floats(-5, 19))
def test_any_start_reaches_the_same_breath_after_one_inflation(start):
    trace = passive_trace(baseline(), 9, start_cmh2o=start)
    later = [switch for switch in trace.switches if switch.time_s > trace.switches[1].time_s - 1e-9]
    assert later[1].time_s - later[0].time_s == pytest.approx(1.1875)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [((0,), "duration"), ((601,), "duration"), ((math.nan,), "duration"), ((5, 0), "step")],
)
def test_what_cannot_be_drawn_is_refused(arguments, said):
    with pytest.raises(OutOfRangeError, match=said):
        passive_trace(baseline(), *arguments)


def test_chatter_has_no_closed_trace():
    with pytest.raises(OutOfRangeError, match="chatter"):
        passive_trace(baseline(airway=25.0), 5)
