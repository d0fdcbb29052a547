"""Pressure at height, and what it leaves of oxygen in the airway and the alveolus.

The oxygen share stays the same with height; the pressure falls, and water vapour and carbon dioxide take their part.
"""

from __future__ import annotations

from quizapp.ventilation.constants import (
    RESPIRATORY_EXCHANGE_RATIO,
    SEA_LEVEL_MMHG,
    WATER_VAPOUR_MMHG,
)
from quizapp.ventilation.ranges import above_zero, between, within, zero_or_more

LOWEST_M, HIGHEST_M = -500.0, 11_000.0
_EARTH_RADIUS_M = 6_356_766.0
_LAPSE_K_M, _SEA_LEVEL_K, _EXPONENT = 0.0065, 288.15, 5.25588


def standard_pressure_mmhg(height_m: float) -> float:
    """Give the standard atmosphere's pressure in mmHg at a geometric height from -500 to 11000 m.

    Raises OutOfRangeError. Source: ICAO Doc 7488, troposphere.
    """
    within("height", height_m, "m", LOWEST_M, HIGHEST_M)
    geopotential_m = _EARTH_RADIUS_M * height_m / (_EARTH_RADIUS_M + height_m)
    warmth = 1 - _LAPSE_K_M * geopotential_m / _SEA_LEVEL_K
    return float(SEA_LEVEL_MMHG * warmth**_EXPONENT)


def standard_pressure_at_feet_mmhg(height_ft: float) -> float:
    """Give the standard atmosphere's pressure in mmHg at a height in feet (-1640 to 36089)."""
    return standard_pressure_mmhg(height_ft * 0.3048)


def inspired_oxygen_mmhg(fio2_fraction: float, barometric_mmhg: float) -> float:
    """Give PiO2 = F x (PB - 47) in mmHg for a share above 0 up to 1 and a pressure above 47 mmHg."""
    return between("oxygen share", fio2_fraction, "", 0, 1) * _dry_mmhg(barometric_mmhg)


def alveolar_oxygen_mmhg(
    fio2_fraction: float,
    barometric_mmhg: float,
    arterial_co2_mmhg: float,
    exchange_ratio: float = RESPIRATORY_EXCHANGE_RATIO,
) -> float:
    """Give PAO2 in mmHg by the simplified equation, PiO2 - PaCO2/R; at high oxygen shares it reads too low.

    arterial_co2_mmhg: 0 or more. exchange_ratio: above 0. Raises OutOfRangeError, also when nothing would be left.
    """
    inspired = inspired_oxygen_mmhg(fio2_fraction, barometric_mmhg)
    taken = zero_or_more("arterial CO2", arterial_co2_mmhg, "mmHg") / above_zero("exchange ratio", exchange_ratio, "")
    return above_zero("alveolar oxygen", inspired - taken, "mmHg")


def alveolar_oxygen_full_mmhg(
    fio2_fraction: float,
    barometric_mmhg: float,
    arterial_co2_mmhg: float,
    exchange_ratio: float = RESPIRATORY_EXCHANGE_RATIO,
) -> float:
    """Give PAO2 in mmHg by the full equation, PiO2 - PaCO2 [F + (1 - F)/R]; arguments as the simplified one."""
    inspired = inspired_oxygen_mmhg(fio2_fraction, barometric_mmhg)
    share = fio2_fraction + (1 - fio2_fraction) / above_zero("exchange ratio", exchange_ratio, "")
    taken = zero_or_more("arterial CO2", arterial_co2_mmhg, "mmHg") * share
    return above_zero("alveolar oxygen", inspired - taken, "mmHg")


def oxygen_difference_mmhg(alveolar_mmhg: float, arterial_mmhg: float) -> float:
    """Give the alveolar-arterial difference in mmHg; raises OutOfRangeError below 0, where a figure must be wrong."""
    above_zero("arterial oxygen", arterial_mmhg, "mmHg")
    return zero_or_more("alveolar minus arterial oxygen", alveolar_mmhg - arterial_mmhg, "mmHg")


def fio2_to_hold_fraction(
    fio2_fraction: float, barometric_mmhg: float, reference_mmhg: float = SEA_LEVEL_MMHG
) -> float:
    """Give the oxygen share that keeps the inspired pressure of a share at reference pressure.

    May come out above 1: then no setting is enough and height must come down. Pressures above 47 mmHg.
    """
    wanted = inspired_oxygen_mmhg(fio2_fraction, reference_mmhg)
    return wanted / _dry_mmhg(barometric_mmhg)


def closed_gas_space_ml(
    volume_ml: float, before_mmhg: float, after_mmhg: float, water_vapour_mmhg: float = 0.0
) -> float:
    """Give the volume in mL of a closed gas space after a change of pressure (mmHg), V x P1/P2.

    water_vapour_mmhg: 0 for the dry rule, 47 for a space inside the body, which grows a little more.
    Raises OutOfRangeError. Source: Boyle's law.
    """
    zero_or_more("water vapour", water_vapour_mmhg, "mmHg")
    before = above_zero("pressure before less water vapour", before_mmhg - water_vapour_mmhg, "mmHg")
    after = above_zero("pressure after less water vapour", after_mmhg - water_vapour_mmhg, "mmHg")
    return above_zero("volume", volume_ml, "mL") * before / after


def _dry_mmhg(barometric_mmhg: float) -> float:
    return above_zero("barometric pressure less water vapour", barometric_mmhg - WATER_VAPOUR_MMHG, "mmHg")
