"""Carbon dioxide: dead space, alveolar ventilation, and the settings that move it.

All of it is for a steady CO2 output; a new steady state takes 10 to 20 minutes or more (from memory).
Pressures in mmHg unless a name says kPa. Source: physiology texts.
"""

from __future__ import annotations

from quizapp.ventilation.constants import CO2_CONSTANT_MMHG_L_ML
from quizapp.ventilation.ranges import OutOfRangeError, above_zero, zero_or_more
from quizapp.ventilation.units import convert_number


def alveolar_ventilation_l_min(tidal_volume_ml: float, dead_space_ml: float, rate_per_min: float) -> float:
    """Give (VT - VD) x rate in L/min; volumes in mL, rate above 0 /min.

    Raises OutOfRangeError when the breath does not clear the dead space.
    """
    return _alveolar_volume_ml(tidal_volume_ml, dead_space_ml) / 1000 * above_zero("rate", rate_per_min, "/min")


def dead_space_fraction(tidal_volume_ml: float, dead_space_ml: float) -> float:
    """Give VD/VT for a dead space of 0 or more and a tidal volume above it, in mL."""
    _alveolar_volume_ml(tidal_volume_ml, dead_space_ml)
    return dead_space_ml / tidal_volume_ml


def dead_space_fraction_from_co2(arterial_mmhg: float, mixed_expired_mmhg: float) -> float:
    """Give VD/VT = (PaCO2 - PECO2)/PaCO2; raises OutOfRangeError when expired exceeds arterial (Bohr, Enghoff)."""
    above_zero("arterial CO2", arterial_mmhg, "mmHg")
    zero_or_more("mixed expired CO2", mixed_expired_mmhg, "mmHg")
    return zero_or_more("arterial minus mixed expired CO2", arterial_mmhg - mixed_expired_mmhg, "mmHg") / arterial_mmhg


def arterial_co2_mmhg(co2_output_ml_min: float, alveolar_ventilation: float) -> float:
    """Give PaCO2 = 0.863 x VCO2/VA in mmHg; output in mL/min STPD, ventilation in L/min BTPS, both above 0."""
    output = above_zero("CO2 output", co2_output_ml_min, "mL/min")
    return CO2_CONSTANT_MMHG_L_ML * output / above_zero("alveolar ventilation", alveolar_ventilation, "L/min")


def ventilation_for_co2_l_min(co2_output_ml_min: float, arterial_mmhg: float) -> float:
    """Give the alveolar ventilation in L/min for an output (mL/min) and a wanted PaCO2 (mmHg), both above 0."""
    output = above_zero("CO2 output", co2_output_ml_min, "mL/min")
    return CO2_CONSTANT_MMHG_L_ML * output / above_zero("arterial CO2", arterial_mmhg, "mmHg")


def ventilation_for_target_l_min(ventilation_now_l_min: float, co2_now: float, co2_wanted: float) -> float:
    """Give VA2 = VA1 x CO2 now/CO2 wanted in L/min; both CO2 in one unit, all above 0."""
    ratio = above_zero("CO2 now", co2_now, "") / above_zero("CO2 wanted", co2_wanted, "")
    return above_zero("alveolar ventilation", ventilation_now_l_min, "L/min") * ratio


def co2_after_change(co2_before: float, ventilation_before_l_min: float, ventilation_after_l_min: float) -> float:
    """Give the new steady CO2 in the unit of the old one after a change of alveolar ventilation, all above 0."""
    before = above_zero("alveolar ventilation before", ventilation_before_l_min, "L/min")
    after = above_zero("alveolar ventilation after", ventilation_after_l_min, "L/min")
    return above_zero("CO2 before", co2_before, "") * before / after


def rate_for_target_per_min(rate_per_min: float, co2_now: float, co2_wanted: float) -> float:
    """Give the rate (/min) for a wanted CO2 at an unchanged breath, f x now/wanted; all above 0."""
    ratio = above_zero("CO2 now", co2_now, "") / above_zero("CO2 wanted", co2_wanted, "")
    return above_zero("rate", rate_per_min, "/min") * ratio


def volume_for_target_ml(tidal_volume_ml: float, dead_space_ml: float, co2_now: float, co2_wanted: float) -> float:
    """Give the tidal volume in mL for a wanted CO2 at an unchanged rate, VD + (VT - VD) x now/wanted."""
    ratio = above_zero("CO2 now", co2_now, "") / above_zero("CO2 wanted", co2_wanted, "")
    return dead_space_ml + _alveolar_volume_ml(tidal_volume_ml, dead_space_ml) * ratio


def rate_for_volume_change_per_min(
    rate_per_min: float, volume_before_ml: float, volume_after_ml: float, dead_space_ml: float
) -> float:
    """Give the rate (/min) that keeps alveolar ventilation when the tidal volume changes; volumes in mL."""
    before = _alveolar_volume_ml(volume_before_ml, dead_space_ml)
    return above_zero("rate", rate_per_min, "/min") * before / _alveolar_volume_ml(volume_after_ml, dead_space_ml)


def arterial_from_end_tidal_mmhg(end_tidal_mmhg: float, gradient_mmhg: float) -> float:
    """Give an estimate of PaCO2 as end-tidal plus gradient in mmHg.

    end_tidal_mmhg: above 0. gradient_mmhg: normally 2 to 5 (from memory), larger with low output, occasionally
    negative; it cannot be read off the capnogram.
    """
    return above_zero("estimated arterial CO2", above_zero("end-tidal CO2", end_tidal_mmhg, "mmHg") + gradient_mmhg, "")


def exchange_ratio(co2_output_ml_min: float, oxygen_uptake_ml_min: float) -> float:
    """Give R = VCO2/VO2, both in mL/min above 0."""
    output = above_zero("CO2 output", co2_output_ml_min, "mL/min")
    return output / above_zero("oxygen uptake", oxygen_uptake_ml_min, "mL/min")


def mmhg_from_kpa(pressure_kpa: float) -> float:
    """Give kPa in mmHg (1 kPa is 7.50062 mmHg)."""
    return convert_number(pressure_kpa, "kPa", "mm[Hg]")


def kpa_from_mmhg(pressure_mmhg: float) -> float:
    """Give mmHg in kPa."""
    return convert_number(pressure_mmhg, "mm[Hg]", "kPa")


def _alveolar_volume_ml(tidal_volume_ml: float, dead_space_ml: float) -> float:
    above_zero("tidal volume", tidal_volume_ml, "mL")
    zero_or_more("dead space", dead_space_ml, "mL")
    if tidal_volume_ml <= dead_space_ml:
        raise OutOfRangeError(f"a breath of {tidal_volume_ml:g} mL does not clear a dead space of {dead_space_ml:g} mL")
    return tidal_volume_ml - dead_space_ml
