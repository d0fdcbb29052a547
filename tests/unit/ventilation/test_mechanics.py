"""The equation of motion and what is worked out from it, against each other and at the edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import mechanics
from quizapp.ventilation.ranges import OutOfRangeError


@given(st.floats(100, 900), st.floats(5, 60), st.floats(10, 100), st.floats(1, 40), st.floats(0, 10))
def test_compliance_and_resistance_are_recovered_from_the_pressures_they_make(volume, flow, compliance, drag, peep):
    lung = {"compliance_ml_cmh2o": compliance, "resistance_cmh2o_s_l": drag, "total_peep_cmh2o": peep}
    peak = mechanics.airway_pressure_cmh2o(volume_ml=volume, flow_l_min=flow, **lung)
    plateau = mechanics.airway_pressure_cmh2o(volume_ml=volume, flow_l_min=0, **lung)
    assert mechanics.static_compliance_ml_cmh2o(volume, plateau, peep) == pytest.approx(compliance)
    assert mechanics.airway_resistance_cmh2o_s_l(peak, plateau, flow) == pytest.approx(drag, rel=1e-6)
    assert mechanics.resistive_pressure_cmh2o(drag, flow) == pytest.approx(peak - plateau)
    assert mechanics.plateau_at_cycling_cmh2o(peak, drag, flow) == pytest.approx(plateau)
    assert mechanics.dynamic_compliance_ml_cmh2o(volume, peak, peep) < compliance


def test_a_muscle_that_pulls_lowers_the_airway_pressure():
    lung = {"volume_ml": 500, "flow_l_min": 30, "compliance_ml_cmh2o": 50, "resistance_cmh2o_s_l": 5}
    assert mechanics.airway_pressure_cmh2o(**lung, muscle_pressure_cmh2o=3) == pytest.approx(12.5 - 3)


def test_expired_flow_lowers_the_gauge_below_the_lung():
    lung = {"volume_ml": 500, "compliance_ml_cmh2o": 50, "resistance_cmh2o_s_l": 5}
    assert mechanics.airway_pressure_cmh2o(flow_l_min=-30, **lung) == pytest.approx(7.5)


def test_volume_follows_compliance_at_a_held_peak():
    assert mechanics.volume_after_compliance_change_ml(500, 50, 25) == 250


def test_mean_pressure_lies_between_baseline_and_half_way():
    assert mechanics.mean_airway_pressure_cmh2o(25, 5, 1) == 10
    assert mechanics.mean_airway_pressure_cmh2o(25, 5, 1e9) == pytest.approx(5)


def test_margin_before_relief():
    assert mechanics.pressure_before_relief_cmh2o(45, 30) == 15
    assert mechanics.pressure_before_relief_cmh2o(45, 45) == 0


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: mechanics.static_compliance_ml_cmh2o(500, 5, 5), "plateau minus total PEEP"),
        (lambda: mechanics.dynamic_compliance_ml_cmh2o(500, 5, 8), "peak minus baseline"),
        (lambda: mechanics.airway_resistance_cmh2o_s_l(20, 25, 30), "peak minus plateau"),
        (lambda: mechanics.airway_resistance_cmh2o_s_l(30, 25, 0), "flow"),
        (lambda: mechanics.apparent_resistance_cmh2o_s_l(0, 50), "time constant"),
        (lambda: mechanics.resistive_pressure_cmh2o(-1, 20), "resistance"),
        (lambda: mechanics.plateau_at_cycling_cmh2o(20, 60, 20), "resistive drop"),
        (lambda: mechanics.volume_after_compliance_change_ml(500, 0, 20), "compliance before"),
        (lambda: mechanics.mean_airway_pressure_cmh2o(5, 5, 2), "peak minus baseline"),
        (lambda: mechanics.pressure_before_relief_cmh2o(45, 46), "above the relief"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
