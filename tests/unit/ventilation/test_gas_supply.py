"""Litres, draw and time: sums there and back, and that oxygen time always comes from the device's own draw."""

import inspect
from dataclasses import replace

import pytest
from demo_profiles import device
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import gas_supply
from quizapp.ventilation.gas_supply import cylinder_draw_l_min, oxygen_time_min
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.set_device import breathe_with, reference_lung, starting_controls

A, B = device("tv-a-1"), device("tv-b-1")


def test_litres_by_bar_by_factor_and_by_part():
    assert gas_supply.contents_l(2, 137) == 274
    assert gas_supply.contents_by_factor_l(0.28, 2000) == pytest.approx(560)
    assert gas_supply.contents_of_part_full_l(460, 115, 230) == pytest.approx(230)
    assert gas_supply.factor_l_psi(244 * 28.3168, 2200) == pytest.approx(3.14, abs=0.005)


def test_nothing_is_usable_at_or_below_the_reserve():
    assert gas_supply.usable_l(2, 100, 20) == 160
    assert gas_supply.usable_l(2, 20, 20) == gas_supply.usable_l(2, 5, 20) == 0
    assert gas_supply.usable_by_factor_l(0.16, 150, 200) == 0


@given(st.floats(0.6, 1), st.floats(8, 20), st.floats(0.01, 1))
def test_a_continuous_supply_draws_the_set_flow_whatever_mix_and_timing(fio2, flow, duty):
    assert cylinder_draw_l_min(A, set_flow_l_min=flow, fio2_fraction=fio2, duty_fraction=duty) == flow


def test_a_supply_that_runs_in_inflation_only_draws_the_oxygen_of_its_share():
    draw = cylinder_draw_l_min(B, set_flow_l_min=24, fio2_fraction=0.6, duty_fraction=0.25)
    assert draw == pytest.approx(24 * 0.25 * (0.6 - 0.21) / 0.79)
    assert cylinder_draw_l_min(B, set_flow_l_min=24) == 24


def test_an_unknown_timing_errs_on_the_safe_side():
    known = oxygen_time_min(B, usable_contents_l=400, set_flow_l_min=24, duty_fraction=0.3)
    assert oxygen_time_min(B, usable_contents_l=400, set_flow_l_min=24) < known


@pytest.mark.parametrize("peak", [14, 20, 30])
@pytest.mark.parametrize("leak", [None, 150])
def test_minute_volume_or_inflation_flow_promises_too_much_oxygen_on_a_continuous_supply(peak, leak):
    """The dangerous direction, by a factor of about 1 + x: 1:2.1 promises three times the minutes there are."""
    controls = replace(starting_controls(A), peak_cmh2o=peak)
    breathing = breathe_with(A, controls, replace(reference_lung(A), leak_resistance_cmh2o_s_l=leak))
    usable = gas_supply.usable_l(2, 150, 20)
    right = oxygen_time_min(A, usable_contents_l=usable, set_flow_l_min=controls.set_flow_l_min)
    by_minute_volume = usable / breathing.minute_volume_l_min
    by_inflation_flow = usable / breathing.circuit_gas_l_min
    factor = 1 + breathing.expiration_per_inflation
    assert by_inflation_flow == pytest.approx(right * factor)
    assert by_minute_volume >= by_inflation_flow * (1 - 1e-12)
    assert right * 1.5 < by_inflation_flow


def test_mixing_by_itself_saves_nothing_on_a_continuous_supply():
    pure = oxygen_time_min(A, usable_contents_l=300, set_flow_l_min=18)
    assert oxygen_time_min(A, usable_contents_l=300, set_flow_l_min=18, fio2_fraction=0.6) == pure
    assert oxygen_time_min(A, usable_contents_l=300, set_flow_l_min=9, fio2_fraction=0.6) == pure * 2


@pytest.mark.parametrize("function", [cylinder_draw_l_min, oxygen_time_min])
def test_draw_and_time_take_a_profile_and_no_minute_volume(function):
    names = set(inspect.signature(function).parameters)
    assert "profile" in names
    assert names <= {"profile", "usable_contents_l", "set_flow_l_min", "fio2_fraction", "duty_fraction"}


@given(st.floats(8, 20), st.floats(0.6, 1), st.floats(0.001, 1), st.floats(1, 3000))
def test_no_argument_makes_a_continuous_supply_last_longer_than_its_set_flow_allows(flow, fio2, duty, usable):
    given_min = oxygen_time_min(
        A, usable_contents_l=usable, set_flow_l_min=flow, fio2_fraction=fio2, duty_fraction=duty
    )
    assert given_min == pytest.approx(usable / flow)


def test_every_function_of_the_module_that_gives_minutes_takes_the_profile():
    given_in_minutes = [
        function
        for name, function in inspect.getmembers(gas_supply, inspect.isfunction)
        if name.endswith("_min") and not name.endswith("_l_min")
    ]
    assert given_in_minutes == [oxygen_time_min]


def test_gauge_there_and_back():
    left = gas_supply.gauge_after_bar(150, 18, 10, 2)
    assert left == 60
    assert gas_supply.measured_draw_l_min(2, 150, left, 10) == pytest.approx(18)


def test_planning_for_twice_the_time_keeps_the_reserve():
    plan = {"draw_l_min": 18, "duration_min": 20, "water_l": 5, "reserve_bar": 20}
    assert gas_supply.gauge_needed_bar(**plan, time_factor=2) == 20 + 144
    assert gas_supply.gauge_needed_bar(**plan, time_factor=1) == 20 + 72
    assert gas_supply.cylinders_needed(**plan, full_bar=137, time_factor=2) == 2
    assert gas_supply.cylinders_needed(**plan, full_bar=164, time_factor=2) == 1
    assert gas_supply.flow_that_lasts_l_min(gas_supply.usable_l(5, 164, 20), 20, 2) == pytest.approx(18)


def test_a_cold_cylinder_reads_lower_by_absolute_temperature():
    assert gas_supply.gauge_at_temperature_bar(100, 20, -10) == pytest.approx(100 * 263.15 / 293.15)
    warmed = gas_supply.gauge_at_temperature_bar(gas_supply.gauge_at_temperature_bar(100, 20, -10), -10, 20)
    assert warmed == pytest.approx(100)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: gas_supply.contents_l(0, 100), "water capacity"),
        (lambda: gas_supply.contents_l(2, -1), "gauge"),
        (lambda: gas_supply.usable_l(2, 100, -1), "reserve"),
        (lambda: gas_supply.gauge_after_bar(20, 18, 10, 2), "empty before 10 min"),
        (lambda: gas_supply.measured_draw_l_min(2, 100, 110, 5), "fall of the gauge"),
        (lambda: gas_supply.measured_draw_l_min(2, 110, 100, 0), "time between"),
        (lambda: gas_supply.gauge_at_temperature_bar(100, 15, -274), "absolute temperature"),
        (lambda: gas_supply.flow_that_lasts_l_min(100, 10, 0), "time factor"),
        (lambda: cylinder_draw_l_min(A, set_flow_l_min=0), "set flow"),
        (lambda: cylinder_draw_l_min(A, set_flow_l_min=18, duty_fraction=0), "inflation share"),
        (lambda: cylinder_draw_l_min(A, set_flow_l_min=18, duty_fraction=1.1), "inflation share"),
        (lambda: cylinder_draw_l_min(A, set_flow_l_min=18, fio2_fraction=0.4), "TV-A revision 1"),
        (lambda: oxygen_time_min(A, usable_contents_l=-1, set_flow_l_min=18), "usable contents"),
        (
            lambda: gas_supply.cylinders_needed(
                draw_l_min=18, duration_min=20, water_l=2, full_bar=20, reserve_bar=20, time_factor=2
            ),
            "above the reserve",
        ),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
