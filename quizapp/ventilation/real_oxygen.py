"""Oxygen as a real gas in a cylinder: how far the bedside rule (water capacity x bar) is off.

A virial series in density fitted by us to CoolProp 8.0.0 (Schmidt and Wagner equation) from -30 to 55 C and up to
320 bar; compressibility is within 0.0004 of it. Free litres are counted at 15 C and 1.01325 bar.
"""

from __future__ import annotations

from quizapp.ventilation.constants import ATMOSPHERE_BAR, ZERO_CELSIUS_K
from quizapp.ventilation.gas_supply import contents_l
from quizapp.ventilation.ranges import above_zero, within

LOWEST_C, HIGHEST_C, HIGHEST_BAR = -30.0, 55.0, 320.0
_REFERENCE_K = 288.15

#: Rows: powers 1 to 4 of density/100 (free litres per litre); columns: powers 0 to 2 of 288.15/T.
_COEFFICIENTS = (
    (0.140937, -0.151874, -0.0662017),
    (0.0281823, -0.0452574, 0.0366131),
    (-0.00304443, 0.0137948, -0.010604),
    (0.000474315, -0.00123116, 0.00102628),
)


def compressibility(gauge_bar: float, temperature_c: float) -> float:
    """Give Z of oxygen at a gauge (bar, 0 to 320) and temperature (C, -30 to 55); raises OutOfRangeError."""
    return _z(free_litres_per_litre(gauge_bar, temperature_c), temperature_c)


def free_litres_per_litre(gauge_bar: float, temperature_c: float) -> float:
    """Give free litres of oxygen per litre of water capacity, the litre left at ambient pressure included.

    gauge_bar: 0 to 320. temperature_c: of the gas, -30 to 55. Raises OutOfRangeError.
    """
    within("gauge", gauge_bar, "bar", 0, HIGHEST_BAR)
    within("temperature", temperature_c, "C", LOWEST_C, HIGHEST_C)
    low, high = 0.0, 600.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        if _gauge_bar(middle, temperature_c) < gauge_bar:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def real_contents_l(water_l: float, gauge_bar: float, temperature_c: float) -> float:
    """Give the free litres in a cylinder of a water capacity (L above 0); other arguments as above."""
    return above_zero("water capacity", water_l, "L") * free_litres_per_litre(gauge_bar, temperature_c)


def bedside_error_fraction(gauge_bar: float, temperature_c: float) -> float:
    """Give how far the bedside rule is off the real contents: below 0 it under-reads, which is the safe side.

    gauge_bar: above 0. Raises OutOfRangeError.
    """
    real = real_contents_l(1.0, above_zero("gauge", gauge_bar, "bar"), temperature_c)
    return contents_l(1.0, gauge_bar) / real - 1


def real_gauge_at_temperature_bar(gauge_bar: float, from_c: float, to_c: float) -> float:
    """Give the gauge in bar of the same real gas at another temperature: cold lowers it without loss of gas.

    Arguments and result within the range of the series. Raises OutOfRangeError.
    """
    within("temperature", to_c, "C", LOWEST_C, HIGHEST_C)
    return within("gauge", _gauge_bar(free_litres_per_litre(gauge_bar, from_c), to_c), "bar", -1e-6, HIGHEST_BAR)


def _z(litres_per_litre: float, temperature_c: float) -> float:
    inverse = _REFERENCE_K / (temperature_c + ZERO_CELSIUS_K)
    total, power = 1.0, 1.0
    for constant, linear, square in _COEFFICIENTS:
        power *= litres_per_litre / 100
        total += power * (constant + linear * inverse + square * inverse**2)
    return total


def _gauge_bar(litres_per_litre: float, temperature_c: float) -> float:
    warmth = (temperature_c + ZERO_CELSIUS_K) / _REFERENCE_K
    ratio = _z(litres_per_litre, temperature_c) / _z(1.0, _REFERENCE_K - ZERO_CELSIUS_K)
    return ATMOSPHERE_BAR * (litres_per_litre * warmth * ratio - 1)
