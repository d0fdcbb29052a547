"""Pressure, volume and flow at one moment: the equation of motion and what is worked out from it.

Flows are in L/min at these functions and turned into L/s before a resistance meets them.
A pressure-cycled machine has no inspiratory hold, so a plateau is inferred there and never displayed.
"""

from __future__ import annotations

from quizapp.ventilation.ranges import OutOfRangeError, above_zero, zero_or_more


def airway_pressure_cmh2o(
    *,
    volume_ml: float,
    flow_l_min: float,
    compliance_ml_cmh2o: float,
    resistance_cmh2o_s_l: float,
    total_peep_cmh2o: float = 0.0,
    muscle_pressure_cmh2o: float = 0.0,
) -> float:
    """Give the airway pressure in cmH2O: baseline + V/C + R x flow - muscle pressure.

    compliance above 0, resistance 0 or more; flow is negative in expiration. Source: equation of motion.
    """
    above_zero("compliance", compliance_ml_cmh2o, "mL/cmH2O")
    zero_or_more("resistance", resistance_cmh2o_s_l, "cmH2O/(L/s)")
    elastic = volume_ml / compliance_ml_cmh2o
    return total_peep_cmh2o + elastic + resistance_cmh2o_s_l * flow_l_min / 60 - muscle_pressure_cmh2o


def static_compliance_ml_cmh2o(tidal_volume_ml: float, plateau_cmh2o: float, total_peep_cmh2o: float) -> float:
    """Give VT/(plateau - total PEEP) in mL/cmH2O; raises OutOfRangeError unless plateau is above total PEEP."""
    above_zero("tidal volume", tidal_volume_ml, "mL")
    return tidal_volume_ml / driving_pressure_cmh2o(plateau_cmh2o, total_peep_cmh2o)


def dynamic_compliance_ml_cmh2o(tidal_volume_ml: float, peak_cmh2o: float, baseline_cmh2o: float) -> float:
    """Give VT/(peak - baseline) in mL/cmH2O, the resistive drop included; raises OutOfRangeError."""
    above_zero("tidal volume", tidal_volume_ml, "mL")
    return tidal_volume_ml / pressure_swing_cmh2o(peak_cmh2o, baseline_cmh2o)


def driving_pressure_cmh2o(plateau_cmh2o: float, total_peep_cmh2o: float) -> float:
    """Give plateau minus total PEEP in cmH2O; raises OutOfRangeError unless the difference is above 0."""
    return above_zero("plateau minus total PEEP", plateau_cmh2o - total_peep_cmh2o, "cmH2O")


def pressure_swing_cmh2o(peak_cmh2o: float, baseline_cmh2o: float) -> float:
    """Give peak minus baseline in cmH2O (the needle's swing); raises OutOfRangeError unless it is above 0."""
    return above_zero("peak minus baseline", peak_cmh2o - baseline_cmh2o, "cmH2O")


def airway_resistance_cmh2o_s_l(peak_cmh2o: float, plateau_cmh2o: float, flow_l_min: float) -> float:
    """Give (peak - plateau)/flow in cmH2O/(L/s), flow above 0 L/min and constant; raises OutOfRangeError."""
    drop = zero_or_more("peak minus plateau", peak_cmh2o - plateau_cmh2o, "cmH2O")
    return drop / (above_zero("flow", flow_l_min, "L/min") / 60)


def apparent_resistance_cmh2o_s_l(tau_s: float, compliance_ml_cmh2o: float) -> float:
    """Give time constant over compliance in cmH2O/(L/s), both above 0 (too high where trapping hides compliance)."""
    return above_zero("time constant", tau_s, "s") / above_zero("compliance", compliance_ml_cmh2o, "mL/cmH2O") * 1000


def resistive_pressure_cmh2o(resistance_cmh2o_s_l: float, flow_l_min: float) -> float:
    """Give R x flow in cmH2O with the flow turned into L/s; both 0 or more."""
    zero_or_more("flow", flow_l_min, "L/min")
    return zero_or_more("resistance", resistance_cmh2o_s_l, "cmH2O/(L/s)") * flow_l_min / 60


def plateau_at_cycling_cmh2o(peak_cmh2o: float, resistance_cmh2o_s_l: float, flow_l_min: float) -> float:
    """Give the alveolar pressure in cmH2O at the moment a pressure-cycled inflation ends, peak - R x flow.

    Raises OutOfRangeError when the resistive drop alone reaches the peak. Source: own model, exact in it.
    """
    drop = resistive_pressure_cmh2o(resistance_cmh2o_s_l, flow_l_min)
    return above_zero("peak minus the resistive drop", peak_cmh2o - drop, "cmH2O")


def volume_after_compliance_change_ml(
    tidal_volume_ml: float, compliance_before_ml_cmh2o: float, compliance_after_ml_cmh2o: float
) -> float:
    """Give the new tidal volume in mL when compliance changes at a held peak, VT x C2/C1; all above 0."""
    above_zero("tidal volume", tidal_volume_ml, "mL")
    above_zero("compliance before", compliance_before_ml_cmh2o, "mL/cmH2O")
    return (
        tidal_volume_ml
        * above_zero("compliance after", compliance_after_ml_cmh2o, "mL/cmH2O")
        / compliance_before_ml_cmh2o
    )


def mean_airway_pressure_cmh2o(peak_cmh2o: float, baseline_cmh2o: float, expiration_parts: float) -> float:
    """Give the mean pressure in cmH2O of a linear ramp from baseline to peak and a baseline held in expiration.

    expiration_parts: x of 1:x, above 0. An idealised trace of a ventilator that holds its baseline. Source: arithmetic.
    """
    swing = pressure_swing_cmh2o(peak_cmh2o, baseline_cmh2o)
    return baseline_cmh2o + swing / 2 / (1 + above_zero("expiratory parts", expiration_parts, ""))


def pressure_before_relief_cmh2o(relief_cmh2o: float, peak_cmh2o: float) -> float:
    """Give relief minus peak in cmH2O, the margin left; raises OutOfRangeError when the peak is above relief."""
    if peak_cmh2o > relief_cmh2o:
        raise OutOfRangeError(f"peak {peak_cmh2o:g} cmH2O is above the relief at {relief_cmh2o:g} cmH2O")
    return relief_cmh2o - peak_cmh2o
