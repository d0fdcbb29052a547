"""The closed form: our own table of cases, the states in which cycling stops, and what it refuses."""

import math

import pytest
from model_settings import baseline

from quizapp.ventilation.pressure_cycling import (
    CyclingState,
    breathe,
    orifice_leak_parks_at_cmh2o,
)
from quizapp.ventilation.ranges import OutOfRangeError

#: Own model, confirmed by a differential equation: changes, VT mL, Ti s, Te s, rate, 1:E, MV and VA (VD 150) in L/min.
OWN_MODEL = [
    ({}, 594, 1.19, 2.55, 16.0, 2.15, 9.52, 7.12),
    ({"compliance_l_cmh2o": 0.025}, 297, 0.59, 1.28, 32.1, 2.15, 9.52, 4.71),
    ({"compliance_l_cmh2o": 0.1}, 1188, 2.38, 5.11, 8.0, 2.15, 9.52, 8.32),
    ({"airway": 10.0}, 438, 0.88, 2.19, 19.6, 2.50, 8.57, 5.63),
    ({"airway": 15.0}, 281, 0.56, 1.64, 27.2, 2.92, 7.65, 3.57),
    ({"flow_l_s": 40 / 60}, 552, 0.83, 2.44, 18.3, 2.95, 10.12, 7.37),
    ({"flow_l_s": 20 / 60}, 635, 1.91, 2.66, 13.1, 1.39, 8.35, 6.38),
    ({"peak_cmh2o": 25.0}, 844, 1.69, 3.12, 12.5, 1.85, 10.53, 8.66),
    ({"peak_cmh2o": 15.0}, 344, 0.69, 1.80, 24.2, 2.61, 8.30, 4.68),
    ({"restart_cmh2o": 3.0}, 706, 1.41, 3.70, 11.7, 2.62, 8.28, 6.52),
    ({"restart_cmh2o": 8.0}, 425, 0.85, 1.50, 25.6, 1.76, 10.87, 7.03),
    ({"throttle_resistance_cmh2o_s_l": 60.0}, 604, 1.21, 3.81, 12.0, 3.15, 7.22, 5.43),
    ({"throttle_resistance_cmh2o_s_l": 20.0}, 563, 1.13, 1.29, 24.9, 1.14, 13.99, 10.26),
    ({"leak": 100.0}, 631, 1.77, 1.93, 16.2, 1.09, 10.25, 7.81),
    ({"leak": 50.0}, 669, 3.39, 1.58, 12.1, 0.46, 8.08, 6.27),
    ({"leak": 41.0}, 685, 7.44, 1.47, 6.7, 0.20, 4.61, 3.60),
]


@pytest.mark.parametrize("row", OWN_MODEL, ids=lambda row: str(row[0]) or "baseline")
def test_our_own_table(row):
    changes, *expected = row
    given = breathe(baseline(**changes))
    assert given.state is CyclingState.CYCLING
    shown = [
        given.tidal_volume_ml,
        given.inflation_s,
        given.expiration_s,
        given.rate_per_min,
        given.expiration_per_inflation,
        given.minute_volume_l_min,
        given.alveolar_ventilation_l_min(150),
    ]
    places = [0.5, 0.005, 0.005, 0.05, 0.005, 0.005, 0.006]
    assert all(abs(a - b) <= place + 1e-9 for a, b, place in zip(shown, expected, places, strict=True)), shown


def test_without_a_leak_all_circuit_gas_reaches_the_lung_and_with_one_more_enters_than_reaches_it():
    tight, leaking = breathe(baseline()), breathe(baseline(leak=100.0))
    assert tight.circuit_gas_l_min == pytest.approx(tight.minute_volume_l_min)
    assert leaking.circuit_gas_l_min > leaking.minute_volume_l_min


def test_lung_pressure_stays_above_the_gauge_baseline_by_the_drop_across_the_airway():
    given = breathe(baseline())
    assert given.alveolar_end_expiration_cmh2o == pytest.approx(5 + 5 * 5 / 40)
    assert given.alveolar_end_inflation_cmh2o == pytest.approx(20 - 5 * 0.5)


def test_duty_belongs_to_the_ratio():
    given = breathe(baseline())
    assert given.duty_fraction == pytest.approx(given.inflation_s / (given.inflation_s + given.expiration_s))


@pytest.mark.parametrize(
    ("changes", "state", "parks"),
    [
        ({"leak": 40.0}, CyclingState.STALLED_IN_INFLATION, 20.0),
        ({"leak": 30.0}, CyclingState.STALLED_IN_INFLATION, 15.0),
        ({"leak": 0.5}, CyclingState.STALLED_IN_INFLATION, 0.25),
        ({"outlet_pressure_cmh2o": 5.0}, CyclingState.STALLED_IN_EXPIRATION, 5.0),
        ({"outlet_pressure_cmh2o": 8.0}, CyclingState.STALLED_IN_EXPIRATION, 8.0),
        ({"throttle_resistance_cmh2o_s_l": math.inf}, CyclingState.STALLED_IN_EXPIRATION, 17.5),
        ({"airway": 25.0}, CyclingState.CHATTER, None),
        ({"airway": 25.0, "throttle_resistance_cmh2o_s_l": math.inf}, CyclingState.STALLED_IN_EXPIRATION, 7.5),
        ({"airway": 32.0, "throttle_resistance_cmh2o_s_l": math.inf}, CyclingState.CHATTER, None),
    ],
)
def test_where_cycling_stops_the_state_and_the_gauge_say_which_half(changes, state, parks):
    given = breathe(baseline(**changes))
    assert given.state is state
    assert given.parked_cmh2o == (None if parks is None else pytest.approx(parks))
    assert given.tidal_volume_ml == given.minute_volume_l_min == 0
    assert given.inflation_s is given.expiration_s is given.expiration_per_inflation is given.duty_fraction is None
    assert given.rate_per_min == (None if state is CyclingState.CHATTER else 0)
    assert given.alveolar_ventilation_l_min(150) == 0


def test_a_leak_frees_a_blocked_exhaust():
    assert breathe(baseline(throttle_resistance_cmh2o_s_l=math.inf, leak=60.0)).state is CyclingState.CYCLING


def test_a_leak_lowers_the_pressure_behind_a_throttle():
    given = baseline(outlet_pressure_cmh2o=6.0, leak=60.0)
    assert given.exhaust_pressure_cmh2o == pytest.approx(6 * 60 / (60 + 40))
    assert breathe(given).state is CyclingState.CYCLING


@pytest.mark.parametrize(("edge", "state"), [(0.11, CyclingState.CYCLING), (0.12, CyclingState.STALLED_IN_INFLATION)])
def test_a_hole_with_a_sharp_edge_stalls_when_it_passes_the_flow_at_the_peak(edge, state):
    """k x root(20) reaches 0.5 L/s at k = 0.1118."""
    parked = orifice_leak_parks_at_cmh2o(0.5, 20, edge)
    assert (parked is None) is (state is CyclingState.CYCLING)
    assert parked is None or edge * math.sqrt(parked) == pytest.approx(0.5)


def test_breaths_below_the_dead_space_ventilate_no_alveolus():
    assert breathe(baseline(airway=20.0)).tidal_volume_ml < 150
    assert breathe(baseline(airway=20.0)).alveolar_ventilation_l_min(150) == 0


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"flow_l_s": 0.0}, "flow"),
        ({"flow_l_s": math.nan}, "flow"),
        ({"compliance_l_cmh2o": -0.05}, "compliance"),
        ({"restart_cmh2o": 20.0}, "restart pressure"),
        ({"restart_cmh2o": 0.0}, "restart pressure"),
        ({"peak_cmh2o": math.inf}, "restart pressure"),
        ({"airway": -1.0}, "resistance"),
        ({"throttle_resistance_cmh2o_s_l": 0.0}, "throttle"),
        ({"leak": 0.0}, "leak"),
        ({"outlet_pressure_cmh2o": -1.0}, "outlet"),
    ],
)
def test_what_cannot_be_is_refused_by_name(changes, said):
    with pytest.raises(OutOfRangeError, match=said):
        baseline(**changes)
