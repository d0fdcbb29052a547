"""Laws of the closed form that hold for any settings: scaling, the signs that never reverse, and how steep they are."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from model_settings import any_settings, baseline

from quizapp.ventilation.pressure_cycling import CyclingState, breathe

FACTORS = st.floats(0.3, 3)


def cycling(device):
    result = breathe(device)
    assume(result.state is CyclingState.CYCLING and result.tidal_volume_ml > 1)
    return result


@given(any_settings(), FACTORS)
def test_compliance_scales_volume_and_times_and_leaves_ratio_and_minute_volume(device, k):
    before = cycling(device)
    after = cycling(replace(device, compliance_l_cmh2o=device.compliance_l_cmh2o * k))
    assert after.tidal_volume_ml == pytest.approx(before.tidal_volume_ml * k)
    assert after.inflation_s == pytest.approx(before.inflation_s * k)
    assert after.expiration_s == pytest.approx(before.expiration_s * k)
    assert after.rate_per_min == pytest.approx(before.rate_per_min / k)
    assert after.expiration_per_inflation == pytest.approx(before.expiration_per_inflation)
    assert after.minute_volume_l_min == pytest.approx(before.minute_volume_l_min)


@given(any_settings(), st.floats(0.3, 0.95))
def test_a_stiffer_lung_loses_alveolar_ventilation_at_the_same_minute_volume(device, k):
    before = cycling(device)
    assume(before.tidal_volume_ml > 155)
    after = cycling(replace(device, compliance_l_cmh2o=device.compliance_l_cmh2o * k))
    assert after.alveolar_ventilation_l_min(150) < before.alveolar_ventilation_l_min(150)


@given(any_settings(), FACTORS)
def test_all_pressures_and_the_flow_scale_volume_and_leave_times(device, k):
    before = cycling(device)
    after = cycling(
        replace(
            device,
            flow_l_s=device.flow_l_s * k,
            peak_cmh2o=device.peak_cmh2o * k,
            restart_cmh2o=device.restart_cmh2o * k,
            outlet_pressure_cmh2o=device.outlet_pressure_cmh2o * k,
        )
    )
    assert after.tidal_volume_ml == pytest.approx(before.tidal_volume_ml * k)
    assert after.inflation_s == pytest.approx(before.inflation_s)
    assert after.expiration_s == pytest.approx(before.expiration_s)


#: Sign of the change of VT, Ti, Te, rate and MV when a value rises; 0 marks a sign that is not fixed.
NEVER_REVERSED = [
    ("compliance_l_cmh2o", (1, 1, 1, -1, 0)),
    ("flow_l_s", (-1, -1, -1, 1, 0)),
    ("peak_cmh2o", (1, 1, 1, -1, 1)),
    ("restart_cmh2o", (-1, -1, -1, 1, 1)),
    ("inspiratory_resistance_cmh2o_s_l", (-1, -1, -1, 1, -1)),
    ("expiratory_resistance_cmh2o_s_l", (-1, -1, 0, 0, -1)),
    ("throttle_resistance_cmh2o_s_l", (1, 1, 1, -1, -1)),
]
#: Sign of the change of the x in 1:x.
RATIO = {
    "flow_l_s": 1,
    "peak_cmh2o": -1,
    "restart_cmh2o": -1,
    "inspiratory_resistance_cmh2o_s_l": 1,
    "throttle_resistance_cmh2o_s_l": 1,
}


@pytest.mark.parametrize(("name", "signs"), NEVER_REVERSED, ids=[row[0] for row in NEVER_REVERSED])
@given(device=any_settings(), k=st.floats(1.02, 1.6))
@settings(max_examples=150)
def test_signs_that_never_reverse(name, signs, device, k):
    before = cycling(device)
    raised = getattr(device, name) * k
    assume(name != "restart_cmh2o" or raised < device.peak_cmh2o)
    after = cycling(replace(device, **{name: raised}))
    changes = [
        after.tidal_volume_ml - before.tidal_volume_ml,
        after.inflation_s - before.inflation_s,
        after.expiration_s - before.expiration_s,
        after.rate_per_min - before.rate_per_min,
        after.minute_volume_l_min - before.minute_volume_l_min,
    ]
    assert all(change * sign > 0 for change, sign in zip(changes, signs, strict=True) if sign), changes
    ratio = after.expiration_per_inflation - before.expiration_per_inflation
    assert name not in RATIO or ratio * RATIO[name] > 0


@given(any_settings(), st.floats(1.02, 1.6))
def test_a_tighter_airway_in_both_directions_makes_smaller_breaths(device, k):
    before = cycling(device)
    after = cycling(
        replace(
            device,
            inspiratory_resistance_cmh2o_s_l=device.inspiratory_resistance_cmh2o_s_l * k,
            expiratory_resistance_cmh2o_s_l=device.expiratory_resistance_cmh2o_s_l * k,
        )
    )
    assert after.tidal_volume_ml < before.tidal_volume_ml
    assert after.minute_volume_l_min < before.minute_volume_l_min


#: Own model at the baseline: percent change of Ti, Te, rate, VT and MV for one percent of the value.
SENSITIVITIES = [
    ("flow_l_s", (-1.21, -0.13, 0.47, -0.21, 0.26)),
    ("peak_cmh2o", (1.68, 1.01, -1.22, 1.68, 0.46)),
    ("restart_cmh2o", (-0.47, -0.88, 0.75, -0.47, 0.28)),
    ("compliance_l_cmh2o", (1, 1, -1, 1, 0)),
    ("airway", (-0.26, -0.11, 0.16, -0.26, -0.10)),
    ("throttle_resistance_cmh2o_s_l", (0.05, 0.99, -0.69, 0.05, -0.64)),
]
VALUES = {"flow_l_s": 0.5, "peak_cmh2o": 20, "restart_cmh2o": 5, "compliance_l_cmh2o": 0.05, "airway": 5} | {
    "throttle_resistance_cmh2o_s_l": 40
}


@pytest.mark.parametrize(("name", "expected"), SENSITIVITIES, ids=[row[0] for row in SENSITIVITIES])
def test_how_steeply_each_result_follows_each_value(name, expected):
    step = 1e-5
    low, high = (breathe(baseline(**{name: VALUES[name] * (1 + sign * step)})) for sign in (-1, 1))
    names = ("inflation_s", "expiration_s", "rate_per_min", "tidal_volume_ml", "minute_volume_l_min")
    slopes = [math.log(getattr(high, result) / getattr(low, result)) / (2 * step) for result in names]
    assert slopes == pytest.approx(expected, abs=0.0051)
