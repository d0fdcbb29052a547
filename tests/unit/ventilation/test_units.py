"""Conversions are exact, go there and back, and refuse what does not belong together."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation.units import (
    UNITS,
    Dimension,
    IncompatibleUnitsError,
    UnknownUnitError,
    alternatives,
    convert,
    convert_number,
    unit,
)

CODES = st.sampled_from(sorted(UNITS))


@given(CODES, CODES, st.decimals(-10_000, 10_000, places=4))
def test_there_and_back_or_refused(one, other, value):
    if UNITS[one].dimension is UNITS[other].dimension:
        back = convert(convert(value, one, other), other, one)
        assert abs(back - value) <= Decimal("1e-20") * max(1, abs(value)) * 10**4
    else:
        with pytest.raises(IncompatibleUnitsError):
            convert(value, one, other)


@pytest.mark.parametrize(
    ("value", "source", "target", "exactly"),
    [
        ("1", "bar", "kPa", "100"),
        ("1", "[in_i]", "cm", "2.54"),
        ("1", "[ft_i]", "m", "0.3048"),
        ("1", "kPa", "mbar", "10"),
        ("60", "L/min", "L/s", "1"),
        ("1.5", "h", "min", "90"),
        ("37", "Cel", "K", "310.15"),
        ("0", "K", "Cel", "-273.15"),
        ("60", "%", "1", "0.6"),
        ("0.05", "L/cm[H2O]", "mL/cm[H2O]", "50"),
        ("1", "[lb_av]", "kg", "0.45359237"),
        ("980.665", "mbar", "cm[H2O]", "1000"),
    ],
)
def test_exact_values_of_the_si_brochure_and_nist_sp_811(value, source, target, exactly):
    assert convert(Decimal(value), source, target) == Decimal(exactly)


def test_a_unit_to_itself_leaves_every_digit():
    value = Decimal("0.1234567890123456789")
    assert all(convert(value, code, code) == value for code in UNITS)


def test_codes_are_their_keys_and_labels_do_not_repeat_within_a_dimension():
    assert all(code == entry.code for code, entry in UNITS.items())
    labels = [(entry.dimension, entry.label) for entry in UNITS.values()]
    assert len(labels) == len(set(labels))


def test_every_dimension_has_a_unit():
    assert {entry.dimension for entry in UNITS.values()} == set(Dimension)


def test_alternatives_are_all_units_of_the_dimension():
    assert alternatives("kPa") == ("cm[H2O]", "mm[Hg]", "[in_i'Hg]", "kPa", "bar", "mbar", "[psi]")
    assert alternatives("{cylinder}") == ("{cylinder}",)


@pytest.mark.parametrize("code", ["mmHg", "l", "KPA", "", "cmH2O"])
def test_only_codes_of_the_table_are_known(code):
    with pytest.raises(UnknownUnitError, match="not a unit"):
        unit(code)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_only_finite_numbers_convert(value):
    with pytest.raises(ValueError, match="finite"):
        convert(Decimal(value), "bar", "kPa")


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_floats_are_held_to_the_same(value):
    with pytest.raises(ValueError, match="finite"):
        convert_number(value, "bar", "kPa")


def test_a_refusal_names_both_kinds():
    with pytest.raises(IncompatibleUnitsError, match="bar measures pressure, L measures volume"):
        convert(1, "bar", "L")
