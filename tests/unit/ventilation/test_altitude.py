"""Pressure at height and what is left of oxygen: the two alveolar equations, closed spaces, and the edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import altitude
from quizapp.ventilation.ranges import OutOfRangeError

SHARE = st.floats(0.21, 1)
PRESSURE = st.floats(500, 770)


@given(st.floats(-400, 10_900))
def test_pressure_falls_with_height(height):
    assert altitude.standard_pressure_mmhg(height + 50) < altitude.standard_pressure_mmhg(height)


@given(SHARE, PRESSURE, st.floats(10, 50), st.floats(0.7, 1))
def test_the_two_alveolar_equations_differ_by_their_known_term(share, pressure, co2, ratio):
    """F x PaCO2 x (1 - R)/R (algebra)."""
    full = altitude.alveolar_oxygen_full_mmhg(share, pressure, co2, ratio)
    simple = altitude.alveolar_oxygen_mmhg(share, pressure, co2, ratio)
    assert full - simple == pytest.approx(share * co2 * (1 - ratio) / ratio, abs=1e-9)


def test_the_difference_is_two_in_air_and_ten_on_oxygen():
    """673 full against 663 simplified on pure oxygen (from memory)."""
    assert altitude.alveolar_oxygen_full_mmhg(1, 760, 40) == pytest.approx(673)
    assert altitude.alveolar_oxygen_mmhg(1, 760, 40) == pytest.approx(663)
    in_air = altitude.alveolar_oxygen_full_mmhg(0.21, 760, 40) - altitude.alveolar_oxygen_mmhg(0.21, 760, 40)
    assert in_air == pytest.approx(2.1)


@given(st.floats(0.21, 0.6), PRESSURE)
def test_the_share_that_holds_gives_the_inspired_pressure_back(share, pressure):
    held = altitude.fio2_to_hold_fraction(share, pressure)
    assert held * (pressure - 47) == pytest.approx(altitude.inspired_oxygen_mmhg(share, 760))


def test_the_share_needed_may_be_more_than_there_is():
    assert altitude.fio2_to_hold_fraction(0.9, 500) > 1


@given(st.floats(50, 400), PRESSURE, PRESSURE)
def test_a_closed_space_goes_there_and_back(volume, one, other):
    moved = altitude.closed_gas_space_ml(volume, one, other)
    assert altitude.closed_gas_space_ml(moved, other, one) == pytest.approx(volume)


def test_a_space_inside_the_body_grows_a_little_more_than_the_dry_rule():
    dry = altitude.closed_gas_space_ml(100, 760, 565)
    assert dry == pytest.approx(134.5, abs=0.05)
    assert altitude.closed_gas_space_ml(100, 760, 565, water_vapour_mmhg=47) > dry


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: altitude.standard_pressure_mmhg(11_001), "-500 to 11000 m"),
        (lambda: altitude.standard_pressure_mmhg(float("nan")), "height"),
        (lambda: altitude.inspired_oxygen_mmhg(21, 760), "oxygen share"),
        (lambda: altitude.inspired_oxygen_mmhg(0, 760), "oxygen share"),
        (lambda: altitude.inspired_oxygen_mmhg(0.21, 47), "barometric"),
        (lambda: altitude.alveolar_oxygen_mmhg(0.21, 760, -1), "arterial CO2"),
        (lambda: altitude.alveolar_oxygen_mmhg(0.21, 760, 40, 0), "exchange ratio"),
        (lambda: altitude.alveolar_oxygen_mmhg(0.21, 200, 40), "alveolar oxygen"),
        (lambda: altitude.oxygen_difference_mmhg(80, 90), "alveolar minus arterial"),
        (lambda: altitude.closed_gas_space_ml(100, 47, 500, 47), "water vapour"),
        (lambda: altitude.closed_gas_space_ml(0, 760, 500), "volume"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
