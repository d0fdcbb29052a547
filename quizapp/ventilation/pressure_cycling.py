"""A pressure-cycled device at constant flow on one passive lung: the closed form, and the three ways it stops.

Own derivation, confirmed with an event-driven differential equation (tests). Inside: L, s, cmH2O.
Limits: linear resistances, constant flow, no inertia, no valve lag, one compartment, a chest that does nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from quizapp.ventilation.ranges import OutOfRangeError, above_zero, zero_or_more


class CyclingState(StrEnum):
    """Whether the device cycles, and if not, where it stopped.

    STALLED_IN_INFLATION: the peak is never reached; the gauge parks below it. STALLED_IN_EXPIRATION: the restart
    pressure is never reached; the gauge parks above it. CHATTER: both are met at once, near-zero breaths, very fast.
    """

    CYCLING = "cycling"
    STALLED_IN_INFLATION = "stalled in inflation"
    STALLED_IN_EXPIRATION = "stalled in expiration"
    CHATTER = "chatter"


@dataclass(frozen=True, kw_only=True)
class CyclingSettings:
    """Device and lung as the closed form needs them; raises OutOfRangeError for what cannot be.

    flow_l_s, peak_cmh2o, restart_cmh2o, compliance_l_cmh2o: above 0, restart below peak.
    inspiratory_resistance_cmh2o_s_l, expiratory_resistance_cmh2o_s_l: 0 or more, lung side of the airway opening.
    throttle_resistance_cmh2o_s_l: above 0, infinite when the exhaust is blocked.
    outlet_pressure_cmh2o: 0 or more, pressure behind the throttle (valve threshold, or throttle x bias flow).
    leak_resistance_cmh2o_s_l: above 0, from the airway opening to open air; None without a leak.
    """

    flow_l_s: float
    peak_cmh2o: float
    restart_cmh2o: float
    compliance_l_cmh2o: float
    inspiratory_resistance_cmh2o_s_l: float
    expiratory_resistance_cmh2o_s_l: float
    throttle_resistance_cmh2o_s_l: float
    outlet_pressure_cmh2o: float = 0.0
    leak_resistance_cmh2o_s_l: float | None = None

    def __post_init__(self) -> None:
        """Refuse settings that are not physical."""
        above_zero("flow", self.flow_l_s, "L/s")
        above_zero("compliance", self.compliance_l_cmh2o, "L/cmH2O")
        zero_or_more("inspiratory resistance", self.inspiratory_resistance_cmh2o_s_l, "cmH2O/(L/s)")
        zero_or_more("expiratory resistance", self.expiratory_resistance_cmh2o_s_l, "cmH2O/(L/s)")
        zero_or_more("outlet pressure", self.outlet_pressure_cmh2o, "cmH2O")
        if self.throttle_resistance_cmh2o_s_l != math.inf:
            above_zero("throttle resistance", self.throttle_resistance_cmh2o_s_l, "cmH2O/(L/s)")
        if self.leak_resistance_cmh2o_s_l is not None:
            above_zero("leak resistance", self.leak_resistance_cmh2o_s_l, "cmH2O/(L/s)")
        if not 0 < self.restart_cmh2o < self.peak_cmh2o < math.inf:
            raise OutOfRangeError(
                f"restart pressure must be above 0 and below the peak of {self.peak_cmh2o:g} cmH2O, "
                f"not {self.restart_cmh2o:g}"
            )

    @property
    def leak_conductance_l_s_cmh2o(self) -> float:
        """Flow through the leak per cmH2O, 0 without a leak."""
        return 0.0 if self.leak_resistance_cmh2o_s_l is None else 1 / self.leak_resistance_cmh2o_s_l

    @property
    def exhaust_resistance_cmh2o_s_l(self) -> float:
        """Throttle and leak side by side: what the airway opening empties through in expiration."""
        conductance = 1 / self.throttle_resistance_cmh2o_s_l + self.leak_conductance_l_s_cmh2o
        return 1 / conductance if conductance > 0 else math.inf

    @property
    def exhaust_pressure_cmh2o(self) -> float:
        """Where the gauge comes to rest in an endless expiration: the outlet pressure, less what a leak takes."""
        if math.isinf(self.throttle_resistance_cmh2o_s_l):
            return 0.0
        return self.outlet_pressure_cmh2o * self.exhaust_resistance_cmh2o_s_l / self.throttle_resistance_cmh2o_s_l

    @property
    def alveolar_at_cycling_cmh2o(self) -> float:
        """Lung pressure at which the gauge reads the peak and inflation ends: PIP(1 + g Ri) - Ri Q."""
        resistance = self.inspiratory_resistance_cmh2o_s_l
        return self.peak_cmh2o * (1 + self.leak_conductance_l_s_cmh2o * resistance) - resistance * self.flow_l_s

    @property
    def alveolar_at_restart_cmh2o(self) -> float:
        """Lung pressure at which the gauge has fallen to the restart pressure: above it by the drop across Re."""
        rest = self.exhaust_pressure_cmh2o
        drop = self.expiratory_resistance_cmh2o_s_l / self.exhaust_resistance_cmh2o_s_l
        return rest + (self.restart_cmh2o - rest) * (1 + drop)

    @property
    def inflation_tau_s(self) -> float:
        """Time constant with which a leak bends the inflation ramp; infinite without a leak."""
        if self.leak_resistance_cmh2o_s_l is None:
            return math.inf
        return self.compliance_l_cmh2o * (self.leak_resistance_cmh2o_s_l + self.inspiratory_resistance_cmh2o_s_l)

    @property
    def expiration_tau_s(self) -> float:
        """Time constant of expiration: compliance times lung and exhaust resistance in series."""
        return self.compliance_l_cmh2o * (self.expiratory_resistance_cmh2o_s_l + self.exhaust_resistance_cmh2o_s_l)


@dataclass(frozen=True, kw_only=True)
class Breathing:
    """What the device and lung settle to.

    A stopped device moves no gas: volumes and rate are 0, times are None, and `parked_cmh2o` is where the gauge rests.
    In chatter volumes are near 0 and neither a rate nor times follow from the closed form: they are None.
    """

    state: CyclingState
    tidal_volume_ml: float
    rate_per_min: float | None
    minute_volume_l_min: float
    inflation_s: float | None
    expiration_s: float | None
    alveolar_end_inflation_cmh2o: float | None
    alveolar_end_expiration_cmh2o: float | None
    circuit_gas_l_min: float
    parked_cmh2o: float | None

    @property
    def expiration_per_inflation(self) -> float | None:
        """The x of 1:x, None unless the device cycles."""
        if self.inflation_s is None or self.expiration_s is None:
            return None
        return self.expiration_s / self.inflation_s

    @property
    def duty_fraction(self) -> float | None:
        """The share of the cycle that is inflation, None unless the device cycles."""
        ratio = self.expiration_per_inflation
        return None if ratio is None else 1 / (1 + ratio)

    def alveolar_ventilation_l_min(self, dead_space_ml: float) -> float:
        """Give (VT - VD) x rate in L/min, 0 when the breath does not clear the dead space (mL, 0 or more)."""
        zero_or_more("dead space", dead_space_ml, "mL")
        return max(0.0, self.tidal_volume_ml - dead_space_ml) / 1000 * (self.rate_per_min or 0.0)


def breathe(settings: CyclingSettings) -> Breathing:
    """Give the steady breathing of a pressure-cycled device; a stopped device is a state of the result, never raised.

    Returns volumes in mL, times in s, rate in /min. Both thresholds fix both ends of the breath, so the limit cycle is
    reached after the first full breath from any start. Source: own derivation (see the module).
    """
    state = cycling_state(settings)
    if state is CyclingState.CYCLING:
        return _steady(settings)
    return Breathing(
        state=state,
        tidal_volume_ml=0.0,
        rate_per_min=None if state is CyclingState.CHATTER else 0.0,
        minute_volume_l_min=0.0,
        inflation_s=None,
        expiration_s=None,
        alveolar_end_inflation_cmh2o=None,
        alveolar_end_expiration_cmh2o=None,
        circuit_gas_l_min=settings.flow_l_s * 60 if state is CyclingState.STALLED_IN_INFLATION else 0.0,
        parked_cmh2o=parked_pressure_cmh2o(settings),
    )


def cycling_state(settings: CyclingSettings) -> CyclingState:
    """Give whether these settings cycle, and if not, which half of the breath stopped."""
    leak = settings.leak_resistance_cmh2o_s_l
    if leak is not None and settings.flow_l_s * leak <= settings.peak_cmh2o:
        return CyclingState.STALLED_IN_INFLATION
    if math.isinf(settings.exhaust_resistance_cmh2o_s_l):
        if settings.alveolar_at_cycling_cmh2o <= settings.restart_cmh2o:
            return CyclingState.CHATTER
        return CyclingState.STALLED_IN_EXPIRATION
    if settings.restart_cmh2o <= settings.exhaust_pressure_cmh2o:
        return CyclingState.STALLED_IN_EXPIRATION
    if settings.alveolar_at_cycling_cmh2o <= settings.alveolar_at_restart_cmh2o:
        return CyclingState.CHATTER
    return CyclingState.CYCLING


def parked_pressure_cmh2o(settings: CyclingSettings) -> float | None:
    """Give the gauge pressure at which a stalled device rests in cmH2O, None while it cycles or chatters."""
    state = cycling_state(settings)
    if state is CyclingState.STALLED_IN_INFLATION and settings.leak_resistance_cmh2o_s_l is not None:
        return settings.flow_l_s * settings.leak_resistance_cmh2o_s_l
    if state is CyclingState.STALLED_IN_EXPIRATION:
        if math.isinf(settings.exhaust_resistance_cmh2o_s_l):
            return settings.alveolar_at_cycling_cmh2o
        return settings.exhaust_pressure_cmh2o
    return None


def orifice_leak_parks_at_cmh2o(
    flow_l_s: float, peak_cmh2o: float, coefficient_l_s_per_root_cmh2o: float
) -> float | None:
    """Give where the gauge parks with a sharp-edged hole (leak flow = k x root of pressure), None if the peak is met.

    All arguments above 0. Raises OutOfRangeError. Source: orifice law; stalls when k x root(PIP) >= Q.
    """
    above_zero("flow", flow_l_s, "L/s")
    above_zero("peak", peak_cmh2o, "cmH2O")
    above_zero("leak coefficient", coefficient_l_s_per_root_cmh2o, "L/s per root cmH2O")
    rest = (flow_l_s / coefficient_l_s_per_root_cmh2o) ** 2
    return rest if rest <= peak_cmh2o else None


def _steady(settings: CyclingSettings) -> Breathing:
    high, low = settings.alveolar_at_cycling_cmh2o, settings.alveolar_at_restart_cmh2o
    volume_l = settings.compliance_l_cmh2o * (high - low)
    inflation_s = _inflation_s(settings, high, low)
    rest = settings.exhaust_pressure_cmh2o
    expiration_s = settings.expiration_tau_s * math.log((high - rest) / (low - rest))
    rate = 60 / (inflation_s + expiration_s)
    return Breathing(
        state=CyclingState.CYCLING,
        tidal_volume_ml=volume_l * 1000,
        rate_per_min=rate,
        minute_volume_l_min=volume_l * rate,
        inflation_s=inflation_s,
        expiration_s=expiration_s,
        alveolar_end_inflation_cmh2o=high,
        alveolar_end_expiration_cmh2o=low,
        circuit_gas_l_min=settings.flow_l_s * inflation_s * rate,
        parked_cmh2o=None,
    )


def _inflation_s(settings: CyclingSettings, high: float, low: float) -> float:
    if settings.leak_resistance_cmh2o_s_l is None:
        return settings.compliance_l_cmh2o * (high - low) / settings.flow_l_s
    ceiling = settings.flow_l_s * settings.leak_resistance_cmh2o_s_l
    return settings.inflation_tau_s * math.log((ceiling - low) / (ceiling - high))
