"""The product beside reference libraries: ambiance (ICAO Doc 7488), CoolProp (Schmidt and Wagner), pint (units)."""

import itertools
import math
from decimal import Decimal

import pint
import pytest
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI

from quizapp.ventilation import units
from quizapp.ventilation.altitude import standard_pressure_mmhg
from quizapp.ventilation.constants import CO2_CONSTANT_MMHG_L_ML, WATER_VAPOUR_MMHG
from quizapp.ventilation.real_oxygen import compressibility, free_litres_per_litre, real_gauge_at_temperature_bar

PASCAL_PER_MMHG = 133.322387415
FREE = PropsSI("Dmolar", "T", 288.15, "P", 101_325, "Oxygen")


@pytest.mark.parametrize("height_m", [-400, 0, 500, 1000, 2438.4, 3048, 4572, 5500, 8000, 11_000])
def test_pressure_at_height_against_ambiance_icao_doc_7488(height_m):
    expected = Atmosphere(height_m).pressure[0] / PASCAL_PER_MMHG
    assert standard_pressure_mmhg(height_m) == pytest.approx(expected, rel=2e-5)


CELLS = list(itertools.product((10, 50, 100, 137, 200, 230, 300), (-20, 0, 15, 20, 35, 45)))


@pytest.mark.parametrize(("bar", "celsius"), CELLS)
def test_litres_in_a_real_cylinder_against_coolprop(bar, celsius):
    density = PropsSI("Dmolar", "T", celsius + 273.15, "P", bar * 1e5 + 101_325, "Oxygen")
    assert free_litres_per_litre(bar, celsius) == pytest.approx(density / FREE, rel=5e-4)


@pytest.mark.parametrize(("bar", "celsius"), CELLS)
def test_compressibility_against_coolprop(bar, celsius):
    expected = PropsSI("Z", "T", celsius + 273.15, "P", bar * 1e5 + 101_325, "Oxygen")
    assert compressibility(bar, celsius) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("bar", "celsius", "reads"),
    [(137, 0, 126.9), (137, -20, 113.3), (137, 40, 153.8), (230, 0, 210.2), (230, -20, 183.7), (230, 40, 262.8)],
)
def test_a_cylinder_filled_at_15_degrees_read_elsewhere_against_a_coolprop_isochore(bar, celsius, reads):
    density = PropsSI("Dmolar", "T", 288.15, "P", bar * 1e5 + 101_325, "Oxygen")
    isochore = (PropsSI("P", "T", celsius + 273.15, "Dmolar", density, "Oxygen") - 101_325) / 1e5
    assert isochore == pytest.approx(reads, abs=0.06)
    assert real_gauge_at_temperature_bar(bar, 15, celsius) == pytest.approx(isochore, abs=0.15)


def test_water_vapour_at_body_temperature_against_coolprop():
    assert PropsSI("P", "T", 310.15, "Q", 1, "Water") / PASCAL_PER_MMHG == pytest.approx(WATER_VAPOUR_MMHG, abs=0.2)


def test_the_carbon_dioxide_constant_is_the_ratio_of_gas_states():
    ratio_of_states = 760 * (310.15 / 273.15) / 1000
    assert ratio_of_states == pytest.approx(CO2_CONSTANT_MMHG_L_ML, abs=5e-4)


#: Our stored code to the oracle's spelling of the same unit.
ORACLE = {
    "cm[H2O]": "cmH2O_conventional",
    "mm[Hg]": "mmHg_conventional",
    "[in_i'Hg]": "inHg_conventional",
    "kPa": "kilopascal",
    "bar": "bar",
    "mbar": "millibar",
    "[psi]": "psi",
    "L": "liter",
    "mL": "milliliter",
    "[cft_i]": "foot**3",
    "L/min": "liter/minute",
    "mL/min": "milliliter/minute",
    "L/s": "liter/second",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "/min": "1/minute",
    "m": "meter",
    "cm": "centimeter",
    "[in_i]": "inch",
    "[ft_i]": "foot",
    "kg": "kilogram",
    "[lb_av]": "pound",
    "K": "kelvin",
    "Cel": "degree_Celsius",
    "1": "dimensionless",
    "%": "percent",
    "L/cm[H2O]": "liter/cmH2O_conventional",
    "mL/cm[H2O]": "milliliter/cmH2O_conventional",
    "cm[H2O].s/L": "cmH2O_conventional*second/liter",
    "mL/kg": "milliliter/kilogram",
    "L/[psi]": "liter/psi",
    "L/bar": "liter/bar",
    "{cylinder}": "cylinder",
}


@pytest.fixture(scope="module")
def oracle():
    """The library's own mmHg rests on a density of mercury; the conventional values of NIST SP 811 are added."""
    registry = pint.UnitRegistry()
    registry.define("cmH2O_conventional = 98.0665 pascal")
    registry.define("mmHg_conventional = 133.322387415 pascal")
    registry.define("inHg_conventional = 25.4 * mmHg_conventional")
    registry.define("cylinder = [cylinder]")
    return registry


def test_every_unit_has_its_oracle():
    assert set(ORACLE) == set(units.UNITS)


@pytest.mark.parametrize("pair", [(a, b) for a in ORACLE for b in units.alternatives(a)], ids=" to ".join)
def test_conversions_against_pint(oracle, pair):
    source, target = pair
    expected = oracle.Quantity(37.25, ORACLE[source]).to(ORACLE[target]).magnitude
    assert math.isclose(float(units.convert(Decimal("37.25"), source, target)), expected, rel_tol=1e-12)


@pytest.mark.parametrize(("ours", "theirs"), [("mm[Hg]", "mmHg"), ("cm[H2O]", "cmH2O")])
def test_conventional_pressures_lie_close_to_those_the_oracle_has_by_itself(oracle, ours, theirs):
    expected = oracle.Quantity(1, theirs).to("pascal").magnitude
    assert float(units.convert(Decimal(1), ours, "kPa")) * 1000 == pytest.approx(expected, rel=5e-5)
