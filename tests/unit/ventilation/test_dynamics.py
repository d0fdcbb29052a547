"""The stepped run agrees with the closed form where that holds, and shows soft tubing, effort and change."""

import itertools
import math

import pytest
from model_settings import baseline

from quizapp.ventilation.dynamics import Effort, From, run
from quizapp.ventilation.pressure_cycling import breathe
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.traces import Phase

STIFF_ML_CMH2O = 0.05


def steady(device, duration_s, **arguments):
    return run([From(time_s=0, settings=device)], duration_s, **arguments)


def breaths(trace):
    """Inflation time, expiratory time and volume of each whole breath after the first switch to expiration."""
    whole = []
    for start, top, end in zip(trace.switches[1::2], trace.switches[2::2], trace.switches[3::2], strict=False):
        whole.append((top.time_s - start.time_s, end.time_s - top.time_s, top.volume_ml - start.volume_ml))
    return whole


@pytest.mark.parametrize(
    "changes",
    [{}, {"airway": 12.0}, {"leak": 80.0}, {"outlet_pressure_cmh2o": 2.0}, {"throttle_resistance_cmh2o_s_l": 100.0}],
    ids=str,
)
def test_as_tubing_stiffens_the_run_becomes_the_closed_form(changes):
    """What is left of the difference halves with the softness, to first order."""
    device = baseline(**changes)
    expected = breathe(device)

    def differences(softness):
        trace = steady(device, 20, tubing_ml_cmh2o=softness, start_cmh2o=expected.alveolar_end_expiration_cmh2o)
        in_s, out_s, volume_ml = breaths(trace)[0]
        return in_s - expected.inflation_s, out_s - expected.expiration_s, volume_ml - expected.tidal_volume_ml

    soft, stiff = differences(0.2), differences(0.1)
    assert [b / a for a, b in zip(soft, stiff, strict=True)] == pytest.approx([0.5, 0.5, 0.5], abs=0.05)
    assert abs(stiff[0]) < 0.01 * expected.inflation_s
    assert abs(stiff[1]) < 0.01 * expected.expiration_s


def test_soft_tubing_slows_the_baseline_a_little_own_model():
    """From a differential equation of our own: 2 mL/cmH2O turn 16.04/min and 594 mL into 15.25/min and 600 mL."""
    inflation_s, expiration_s, volume_ml = breaths(steady(baseline(), 13))[1]
    assert 60 / (inflation_s + expiration_s) == pytest.approx(15.25, abs=0.02)
    assert volume_ml == pytest.approx(600, abs=1)


def test_a_kink_chatters_with_small_fast_breaths_own_model():
    """From a differential equation of our own: 39 mL at 104/min, the gauge still running from restart to peak."""
    trace = steady(baseline(airway=25.0), 10)
    inflation_s, expiration_s, volume_ml = breaths(trace)[-1]
    assert 60 / (inflation_s + expiration_s) == pytest.approx(104, abs=1)
    assert volume_ml == pytest.approx(39, abs=0.5)
    late = trace.pressure_cmh2o[len(trace.pressure_cmh2o) // 2 :]
    assert max(late) == pytest.approx(20, abs=0.3)
    assert min(late) == pytest.approx(5, abs=1)


def calm_start():
    return {"tubing_ml_cmh2o": STIFF_ML_CMH2O, "start_cmh2o": baseline().alveolar_at_restart_cmh2o}


def first_times(effort):
    trace = steady(baseline(), 8, efforts=[effort], **calm_start())
    top, end = trace.switches[:2]
    return top.time_s, end.time_s - top.time_s, top.volume_ml - 1000 * 0.05 * 5.625


def test_an_effort_across_the_end_of_inflation_lengthens_it_and_enlarges_the_breath():
    effort = Effort(start_s=0.9, length_s=1.2, height_cmh2o=4)
    inflation_s, _, volume_ml = first_times(effort)
    assert inflation_s > 1.4
    assert volume_ml == pytest.approx(1000 * 0.05 * (17.5 + effort.pressure_cmh2o(inflation_s) - 5.625), rel=0.02)


def test_a_cough_cuts_inflation_short():
    inflation_s, _, volume_ml = first_times(Effort(start_s=0.58, length_s=0.3, height_cmh2o=-40))
    assert inflation_s == pytest.approx(0.6, abs=0.02)
    assert volume_ml == pytest.approx(300, abs=10)


def test_a_small_effort_late_in_expiration_starts_the_next_breath_early_and_a_push_delays_it():
    _, early_s, _ = first_times(Effort(start_s=1.1875 + 1.4, length_s=1, height_cmh2o=3))
    _, late_s, _ = first_times(Effort(start_s=1.1875 + 2.3, length_s=0.8, height_cmh2o=-3))
    calm_s = breathe(baseline()).expiration_s
    assert early_s < calm_s - 0.15
    assert late_s > calm_s + 0.1


def test_a_change_of_settings_shows_from_its_moment_on():
    trace = run([From(time_s=0, settings=baseline()), From(time_s=20, settings=baseline(compliance_l_cmh2o=0.025))], 40)
    tops = [switch for switch in trace.switches if switch.into is Phase.EXPIRATION]
    spans = [b.time_s - a.time_s for a, b in itertools.pairwise(tops)]
    assert spans[1] == pytest.approx(60 / 15.25, abs=0.02)
    assert spans[-1] < 0.6 * spans[1]


def test_stalls_come_to_rest_where_the_closed_form_parks():
    for device in (baseline(leak=30.0), baseline(outlet_pressure_cmh2o=7.0)):
        trace = steady(device, 40)
        assert trace.pressure_cmh2o[-1] == pytest.approx(breathe(device).parked_cmh2o, abs=0.05)


def test_a_blocked_exhaust_holds_what_the_lung_holds():
    trace = steady(baseline(throttle_resistance_cmh2o_s_l=math.inf), 10)
    assert trace.pressure_cmh2o[-1] == pytest.approx(17.5, abs=0.2)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"duration_s": 0}, "duration"),
        ({"duration_s": 601}, "duration"),
        ({"tubing_ml_cmh2o": 0}, "tubing"),
        ({"sample_s": 0}, "sampling"),
        ({"efforts": [Effort(start_s=-1, length_s=1, height_cmh2o=1)]}, "start of an effort"),
        ({"efforts": [Effort(start_s=1, length_s=0, height_cmh2o=1)]}, "length of an effort"),
    ],
)
def test_what_cannot_be_run_is_refused(arguments, said):
    with pytest.raises(OutOfRangeError, match=said):
        steady(baseline(), **{"duration_s": 5} | arguments)


@pytest.mark.parametrize("times", [[], [1], [0, 5, 3]])
def test_a_course_starts_at_zero_and_rises(times):
    with pytest.raises(OutOfRangeError, match="course"):
        run([From(time_s=time, settings=baseline()) for time in times], 5)
