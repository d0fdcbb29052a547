"""Profile, controls and lung together: what each device does, and that nothing of one device is hard-coded."""

from dataclasses import replace

import pytest
from demo_profiles import device

from quizapp.ventilation.pressure_cycling import CyclingState
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.set_device import (
    breathe_with,
    reference_lung,
    settings_for,
    starting_controls,
    throttle_position,
    throttle_resistance_cmh2o_s_l,
    total_flow_l_min,
)

A, A2, B = device("tv-a-1"), device("tv-a-2"), device("tv-b-1")


def breathing(profile=A, *, lung=None, **controls):
    seen = replace(reference_lung(profile), **lung or {})
    return breathe_with(profile, replace(starting_controls(profile), **controls), seen)


def airway(resistance):
    return {"inspiratory_resistance_cmh2o_s_l": resistance, "expiratory_resistance_cmh2o_s_l": resistance}


#: Own model, TV-A revision 1 on its reference lung: VT mL, rate, Ti s, 1:E, minute and alveolar volume in L/min.
TABLE = [
    ("reference", {}, {}, (523, 11.0, 1.74, 2.1, 5.8, 4.1)),
    ("compliance 25", {}, {"compliance_ml_cmh2o": 25}, (327, 17.7, 1.09, 2.1, 5.8, 3.1)),
    ("compliance 16", {}, {"compliance_ml_cmh2o": 16}, (209, 27.6, 0.70, 2.1, 5.8, 1.6)),
    ("resistance 20", {}, airway(20), (347, 14.1, 1.16, 2.7, 4.9, 2.8)),
    ("kink, resistance 40", {}, airway(40), (53, 66, 0.18, 4.1, 3.5, 0)),
    ("flow 10", {"set_flow_l_min": 10}, {}, (565, 8.3, 3.39, 1.1, 4.7, 3.4)),
    ("peak 26", {"peak_cmh2o": 26}, {}, (708, 9.8, 2.36, 1.6, 6.9, 5.5)),
    ("rate control tighter", {"throttle_position": throttle_position(A, 120)}, {}, (533, 6.6, 1.78, 4.1, 3.5, 2.5)),
    ("mix, source unchanged", {"fio2_fraction": 0.6}, {}, (424, 15.1, 0.70, 4.7, 6.4, 4.1)),
    ("mix, source cut to 9", {"fio2_fraction": 0.6, "set_flow_l_min": 9}, {}, (521, 11.1, 1.72, 2.1, 5.8, 4.1)),
]


@pytest.mark.parametrize(("controls", "lung", "expected"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE])
def test_what_the_model_taught_us_own_model(controls, lung, expected):
    given = breathing(lung=lung, **controls)
    shown = (
        given.tidal_volume_ml,
        given.rate_per_min,
        given.inflation_s,
        given.expiration_per_inflation,
        given.minute_volume_l_min,
        given.alveolar_ventilation_l_min(150),
    )
    places = (0.5, 0.051 if expected[1] != 66 else 0.5, 0.005, 0.06, 0.051, 0.06)
    assert all(abs(a - b) <= place for a, b, place in zip(shown, expected, places, strict=True)), shown


def test_revision_two_on_the_same_lung_own_model():
    given = breathing(A2)
    assert given.tidal_volume_ml == pytest.approx(551, abs=0.5)
    assert given.rate_per_min == pytest.approx(9.9, abs=0.05)
    assert given.expiration_per_inflation == pytest.approx(1.9, abs=0.05)


def test_a_leak_on_this_device_lengthens_inflation_and_creeps_up_in_rate_before_it_fails():
    tight, light, heavy = (breathing(lung={"leak_resistance_cmh2o_s_l": leak}) for leak in (None, 400, 80))
    assert tight.inflation_s < light.inflation_s < heavy.inflation_s
    assert tight.tidal_volume_ml < light.tidal_volume_ml < heavy.tidal_volume_ml
    assert heavy.rate_per_min < tight.rate_per_min < light.rate_per_min


def test_a_leak_past_the_limit_parks_below_the_peak():
    given = breathing(lung={"leak_resistance_cmh2o_s_l": 60})
    assert given.state is CyclingState.STALLED_IN_INFLATION
    assert given.parked_cmh2o == pytest.approx(0.3 * 60)


def test_the_rate_control_shut_parks_above_the_baseline():
    given = breathing(throttle_position=1.0)
    assert given.state is CyclingState.STALLED_IN_EXPIRATION
    assert given.parked_cmh2o == pytest.approx(160 * 0.1 * 0.3)
    assert given.parked_cmh2o > A.baseline_cmh2o(20)


def test_a_device_without_flow_through_its_shut_end_goes_on_cycling():
    assert breathing(B, throttle_position=1.0).state is CyclingState.CYCLING


def test_below_the_working_flow_only_a_device_whose_profile_says_so_stalls():
    stalled = breathing(set_flow_l_min=6)
    assert stalled.state is CyclingState.STALLED_IN_INFLATION
    assert stalled.parked_cmh2o == pytest.approx(20 * 6 / 8)
    assert breathing(set_flow_l_min=8).state is CyclingState.CYCLING
    assert breathing(B, set_flow_l_min=11).state is CyclingState.CYCLING


def test_revision_two_stalls_at_a_flow_that_revision_one_works_at():
    assert breathing(A, set_flow_l_min=9).state is CyclingState.CYCLING
    assert breathing(A2, set_flow_l_min=9).state is CyclingState.STALLED_IN_INFLATION


def test_an_added_valve_above_the_restart_pressure_stops_expiration():
    assert breathing(lung={"outlet_offset_cmh2o": 5}).state is CyclingState.STALLED_IN_EXPIRATION


def test_raising_the_peak_moves_the_baseline_by_the_law_of_the_profile():
    def restart(profile, peak):
        controls = replace(starting_controls(profile), peak_cmh2o=peak)
        return settings_for(profile, controls, reference_lung(profile)).restart_cmh2o

    assert [restart(A, peak) for peak in (15, 30)] == pytest.approx([3, 6])
    assert [restart(A2, peak) for peak in (15, 30)] == pytest.approx([2.7, 5.4])
    assert [restart(B, peak) for peak in (15, 30)] == [5, 5]


def test_opening_the_mix_raises_the_flow_only_where_air_is_added():
    mixed = {"fio2_fraction": 0.6}
    assert total_flow_l_min(A, replace(starting_controls(A), **mixed)) == pytest.approx(18 * 0.79 / 0.39)
    assert total_flow_l_min(B, replace(starting_controls(B), **mixed)) == 24


@pytest.mark.parametrize("profile", [A, B], ids=["TV-A", "TV-B"])
def test_the_rate_control_runs_from_open_over_the_middle_to_shut_and_back(profile):
    ends = [throttle_resistance_cmh2o_s_l(profile, position) for position in (0, 0.5, 1)]
    assert ends == pytest.approx(
        [profile.throttle_min_cmh2o_s_l, profile.throttle_middle_cmh2o_s_l, profile.throttle_max_cmh2o_s_l]
    )
    for percent in range(101):
        resistance = throttle_resistance_cmh2o_s_l(profile, percent / 100)
        assert throttle_position(profile, resistance) == pytest.approx(percent / 100)


@pytest.mark.parametrize(
    ("controls", "said"),
    [
        ({"peak_cmh2o": 41}, "12 to 40"),
        ({"set_flow_l_min": 21}, "0 to 20"),
        ({"set_flow_l_min": 0}, "set flow"),
        ({"fio2_fraction": 0.5}, "0.6 to 1"),
        ({"fio2_fraction": 1.1}, "0.6 to 1"),
        ({"throttle_position": 1.1}, "rate control"),
        ({"throttle_position": -0.1}, "rate control"),
    ],
)
def test_controls_outside_the_profile_are_refused_with_its_range(controls, said):
    with pytest.raises(ValueError, match=said):
        breathing(**controls)


def test_a_lung_that_cannot_be_is_refused():
    with pytest.raises(OutOfRangeError, match="compliance"):
        breathing(lung={"compliance_ml_cmh2o": 0})
    with pytest.raises(OutOfRangeError, match="dead space"):
        breathing(lung={"dead_space_ml": -1})
