"""The bedside rule beside real oxygen: our table of errors, there and back, and the range of the series."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.real_oxygen import (
    bedside_error_fraction,
    compressibility,
    free_litres_per_litre,
    real_contents_l,
    real_gauge_at_temperature_bar,
)

#: CoolProp 8.0.0: gauge bar, Z at 15 C, and litres with the error of the bedside rule in percent at four temperatures.
TABLE = [
    (50, 0.965, {15: (52.1, -4.1), 20: (51.1, -2.1), 0: (55.6, -10.0), 35: (48.2, 3.7)}),
    (100, 0.941, {15: (105.9, -5.6), 20: (103.5, -3.4), 0: (114.0, -12.3), 35: (97.0, 3.1)}),
    (137, 0.931, {15: (146.2, -6.3), 20: (142.7, -4.0), 0: (158.3, -13.5), 35: (133.2, 2.8)}),
    (200, 0.931, {15: (212.9, -6.0), 20: (207.5, -3.6), 0: (231.4, -13.6), 35: (193.1, 3.6)}),
    (230, 0.939, {15: (242.5, -5.2), 20: (236.4, -2.7), 0: (263.5, -12.7), 35: (220.0, 4.5)}),
    (300, 0.974, {15: (304.8, -1.6), 20: (297.5, 0.8), 0: (329.4, -8.9), 35: (277.7, 8.0)}),
]


@pytest.mark.parametrize(("bar", "z", "cells"), TABLE, ids=[f"{row[0]} bar" for row in TABLE])
def test_real_litres_and_the_error_of_the_bedside_rule_coolprop(bar, z, cells):
    assert compressibility(bar, 15) == pytest.approx(z, abs=0.001)
    for celsius, (litres, percent) in cells.items():
        assert free_litres_per_litre(bar, celsius) == pytest.approx(litres, abs=0.12)
        assert 100 * bedside_error_fraction(bar, celsius) == pytest.approx(percent, abs=0.1)


def test_one_litre_a_litre_stays_behind_at_ambient_pressure():
    assert free_litres_per_litre(0, 15) == pytest.approx(1, abs=1e-4)


@given(st.floats(20, 250), st.floats(-25, 50), st.floats(-25, 50))
def test_warming_and_cooling_back_gives_the_gauge_back(bar, one, other):
    moved = real_gauge_at_temperature_bar(bar, one, other)
    assert real_gauge_at_temperature_bar(moved, other, one) == pytest.approx(bar, abs=1e-5)


@given(st.floats(0, 319), st.floats(-30, 55))
def test_more_pressure_is_always_more_gas(bar, celsius):
    assert free_litres_per_litre(bar + 1, celsius) > free_litres_per_litre(bar, celsius)


def test_contents_scale_with_the_cylinder():
    assert real_contents_l(2, 230, 15) == pytest.approx(485, abs=1)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: free_litres_per_litre(321, 15), "gauge"),
        (lambda: free_litres_per_litre(-1, 15), "gauge"),
        (lambda: free_litres_per_litre(100, -31), "temperature"),
        (lambda: free_litres_per_litre(100, float("nan")), "temperature"),
        (lambda: real_contents_l(0, 100, 15), "water capacity"),
        (lambda: bedside_error_fraction(0, 15), "gauge"),
        (lambda: real_gauge_at_temperature_bar(300, 0, 55), "gauge"),
        (lambda: real_gauge_at_temperature_bar(100, 15, 56), "temperature"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
