"""One passive compartment: time constant, emptying, and the gas trapped when expiration is cut short.

Valid for a linear lung, a passive patient and no flow limitation; real obstructive lungs empty slower late.
"""

from __future__ import annotations

import math

from quizapp.ventilation.ranges import OutOfRangeError, above_zero, zero_or_more


def time_constant_s(resistance_cmh2o_s_l: float, compliance_ml_cmh2o: float) -> float:
    """Give resistance times compliance in s.

    resistance_cmh2o_s_l: cmH2O/(L/s) above 0, with the throttle added where the device has one in expiration.
    compliance_ml_cmh2o: above 0. Raises OutOfRangeError. Source: physiology texts.
    """
    above_zero("resistance", resistance_cmh2o_s_l, "cmH2O/(L/s)")
    return resistance_cmh2o_s_l * above_zero("compliance", compliance_ml_cmh2o, "mL/cmH2O") / 1000


def remaining_fraction(elapsed_s: float, tau_s: float) -> float:
    """Give the share of the volume above baseline still in the lung after a time (s, 0 or more), e^(-t/tau)."""
    return math.exp(-zero_or_more("time", elapsed_s, "s") / above_zero("time constant", tau_s, "s"))


def emptied_fraction(elapsed_s: float, tau_s: float) -> float:
    """Give the share of the volume above baseline that has left after a time (s, 0 or more)."""
    return 1 - remaining_fraction(elapsed_s, tau_s)


def time_to_empty_s(fraction: float, tau_s: float) -> float:
    """Give the time in s until a share (0 or more, below 1) has left: -tau ln(1 - f); raises OutOfRangeError."""
    if not 0 <= fraction < 1:
        raise OutOfRangeError(f"emptied share must be from 0 to below 1, not {fraction:g}")
    return -above_zero("time constant", tau_s, "s") * math.log(1 - fraction)


def trapped_volume_ml(tidal_volume_ml: float, expiration_s: float, tau_s: float) -> float:
    """Give the volume in mL that stays above baseline at the end of expiration in steady state, VT/(e^(Te/tau) - 1).

    For a fixed tidal volume (mL) and expiratory time (s), all above 0. Raises OutOfRangeError.
    Source: steady state of the exponential; check values in Critical Care 2013, letter cc12561, Table 1.
    """
    above_zero("tidal volume", tidal_volume_ml, "mL")
    return tidal_volume_ml / math.expm1(_time_constants(expiration_s, tau_s))


def end_inspiratory_volume_ml(tidal_volume_ml: float, expiration_s: float, tau_s: float) -> float:
    """Give the volume in mL above baseline at the end of inflation in steady state, VT/(1 - e^(-Te/tau))."""
    return tidal_volume_ml + trapped_volume_ml(tidal_volume_ml, expiration_s, tau_s)


def intrinsic_peep_cmh2o(
    tidal_volume_ml: float, expiration_s: float, tau_s: float, compliance_ml_cmh2o: float
) -> float:
    """Give the steady pressure of trapped gas in cmH2O above the set baseline; arguments as `trapped_volume_ml`."""
    return auto_peep_cmh2o(trapped_volume_ml(tidal_volume_ml, expiration_s, tau_s), compliance_ml_cmh2o)


def auto_peep_cmh2o(trapped_ml: float, compliance_ml_cmh2o: float) -> float:
    """Give trapped volume (mL, 0 or more) over compliance (mL/cmH2O above 0) in cmH2O."""
    return zero_or_more("trapped volume", trapped_ml, "mL") / above_zero("compliance", compliance_ml_cmh2o, "mL/cmH2O")


def steady_plateau_cmh2o(
    *,
    tidal_volume_ml: float,
    expiration_s: float,
    resistance_cmh2o_s_l: float,
    compliance_ml_cmh2o: float,
    baseline_cmh2o: float = 0.0,
) -> float:
    """Give the plateau pressure in cmH2O in steady state, trapping included; baseline 0 or more, the rest above 0."""
    tau_s = time_constant_s(resistance_cmh2o_s_l, compliance_ml_cmh2o)
    volume_ml = end_inspiratory_volume_ml(tidal_volume_ml, expiration_s, tau_s)
    return zero_or_more("baseline", baseline_cmh2o, "cmH2O") + volume_ml / compliance_ml_cmh2o


def highest_emptying_rate_per_min(inflation_s: float, tau_s: float, time_constants: float) -> float:
    """Give the highest rate (/min) that leaves a number of time constants for expiration, all above 0.

    About three time constants are the usual allowance (Intensive Care Medicine Experimental 2024, on expiratory
    time constants); the number is an argument because it is a choice.
    """
    above_zero("inflation time", inflation_s, "s")
    above_zero("number of time constants", time_constants, "")
    return 60 / (inflation_s + time_constants * above_zero("time constant", tau_s, "s"))


def _time_constants(expiration_s: float, tau_s: float) -> float:
    return above_zero("expiratory time", expiration_s, "s") / above_zero("time constant", tau_s, "s")
