"""From a device profile, its controls and a lung to the settings of the model: all that is one device's is here."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizapp.ventilation.device_profile import DeviceProfile
from quizapp.ventilation.mixing import mixed_flow
from quizapp.ventilation.pressure_cycling import Breathing, CyclingSettings, breathe
from quizapp.ventilation.ranges import above_zero, within, zero_or_more

#: Positions of the rate control: fully open, the middle mark, shut.
OPEN_POSITION, MIDDLE_POSITION, SHUT_POSITION = 0.0, 0.5, 1.0


@dataclass(frozen=True, kw_only=True)
class Controls:
    """Where the four controls stand: set flow (L/min above 0), oxygen share, peak (cmH2O), rate control (0 to 1)."""

    set_flow_l_min: float
    peak_cmh2o: float
    fio2_fraction: float = 1.0
    throttle_position: float = MIDDLE_POSITION


@dataclass(frozen=True, kw_only=True)
class Lung:
    """One passive lung with its airway; compliance in mL/cmH2O above 0, resistances in cmH2O/(L/s), dead space in mL.

    leak_resistance_cmh2o_s_l: of a leak at the airway opening, None without one.
    outlet_offset_cmh2o: a pressure somebody put behind the exhaust, such as an added valve; 0 without one.
    """

    compliance_ml_cmh2o: float
    inspiratory_resistance_cmh2o_s_l: float
    expiratory_resistance_cmh2o_s_l: float
    dead_space_ml: float = 150.0
    leak_resistance_cmh2o_s_l: float | None = None
    outlet_offset_cmh2o: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a lung that is not physical (the rest is refused by the settings)."""
        above_zero("compliance", self.compliance_ml_cmh2o, "mL/cmH2O")
        zero_or_more("dead space", self.dead_space_ml, "mL")


def starting_controls(profile: DeviceProfile) -> Controls:
    """Give the controls as the device is delivered: starting flow, delivered peak, all oxygen, middle of the rate."""
    return Controls(set_flow_l_min=profile.working_flow_start_l_min, peak_cmh2o=profile.peak_delivered_cmh2o)


def reference_lung(profile: DeviceProfile) -> Lung:
    """Give the lung for which the profile states its volumes and times."""
    return Lung(
        compliance_ml_cmh2o=profile.reference_compliance_ml_cmh2o,
        inspiratory_resistance_cmh2o_s_l=profile.reference_inspiratory_resistance_cmh2o_s_l,
        expiratory_resistance_cmh2o_s_l=profile.reference_expiratory_resistance_cmh2o_s_l,
        dead_space_ml=profile.reference_dead_space_ml,
    )


def throttle_resistance_cmh2o_s_l(profile: DeviceProfile, position: float) -> float:
    """Give the throttle resistance in cmH2O/(L/s) at a position from 0 (open) over 0.5 (middle) to 1 (shut).

    Equal turns multiply the resistance by equal factors on each side of the middle: our own choice of law.
    Raises OutOfRangeError outside 0 to 1.
    """
    within("position of the rate control", position, "", OPEN_POSITION, SHUT_POSITION)
    low, middle, high = (
        profile.throttle_min_cmh2o_s_l,
        profile.throttle_middle_cmh2o_s_l,
        profile.throttle_max_cmh2o_s_l,
    )
    if position <= MIDDLE_POSITION:
        return max(low, float(low * (middle / low) ** (position / MIDDLE_POSITION)))
    turn = (position - MIDDLE_POSITION) / (SHUT_POSITION - MIDDLE_POSITION)
    return min(high, float(middle * (high / middle) ** turn))


def throttle_position(profile: DeviceProfile, resistance_cmh2o_s_l: float) -> float:
    """Give the position (0 to 1) at which the rate control has a resistance within the profile's throttle range."""
    low, middle, high = (
        profile.throttle_min_cmh2o_s_l,
        profile.throttle_middle_cmh2o_s_l,
        profile.throttle_max_cmh2o_s_l,
    )
    within("throttle resistance", resistance_cmh2o_s_l, "cmH2O/(L/s)", low, high)
    if resistance_cmh2o_s_l <= middle:
        return MIDDLE_POSITION * math.log(resistance_cmh2o_s_l / low) / math.log(middle / low)
    rest = SHUT_POSITION - MIDDLE_POSITION
    return MIDDLE_POSITION + rest * math.log(resistance_cmh2o_s_l / middle) / math.log(high / middle)


def total_flow_l_min(profile: DeviceProfile, controls: Controls) -> float:
    """Give the flow into the breathing system in L/min by the profile's mix law.

    Raises OutOfRangeError for a flow that is not above 0 or an oxygen share outside the profile's mix.
    """
    return mixed_flow(profile, controls.set_flow_l_min, controls.fio2_fraction).total_l_min


def settings_for(profile: DeviceProfile, controls: Controls, lung: Lung) -> CyclingSettings:
    """Give the settings of the model for a device, its controls and a lung.

    Raises OutOfRangeError for a peak, mix or rate control outside the profile. A set flow above the working range is
    refused; below it the device stalls in inflation if the profile says so. Source: the profile; own model.
    """
    flow_l_s = total_flow_l_min(profile, controls) / 60
    within("set flow", controls.set_flow_l_min, "L/min", 0, profile.working_flow_max_l_min)
    throttle = throttle_resistance_cmh2o_s_l(profile, controls.throttle_position)
    shut = controls.throttle_position >= SHUT_POSITION
    bias_l_s = profile.closed_end_bias_fraction * flow_l_s if shut else 0.0
    return CyclingSettings(
        flow_l_s=flow_l_s,
        peak_cmh2o=controls.peak_cmh2o,
        restart_cmh2o=profile.baseline_cmh2o(controls.peak_cmh2o),
        compliance_l_cmh2o=lung.compliance_ml_cmh2o / 1000,
        inspiratory_resistance_cmh2o_s_l=lung.inspiratory_resistance_cmh2o_s_l,
        expiratory_resistance_cmh2o_s_l=lung.expiratory_resistance_cmh2o_s_l,
        throttle_resistance_cmh2o_s_l=throttle,
        outlet_pressure_cmh2o=lung.outlet_offset_cmh2o + throttle * bias_l_s,
        leak_resistance_cmh2o_s_l=_leak(profile, controls, lung, flow_l_s),
    )


def breathe_with(profile: DeviceProfile, controls: Controls, lung: Lung) -> Breathing:
    """Give the steady breathing of a device with its controls on a lung; see `settings_for` and `breathe`."""
    return breathe(settings_for(profile, controls, lung))


def _leak(profile: DeviceProfile, controls: Controls, lung: Lung, flow_l_s: float) -> float | None:
    """Give the leak in cmH2O/(L/s), with the loss inside a device that is fed below its working flow.

    That loss is taken as the leak at which the peak is just missed at the lowest working flow, so that the gauge
    parks at peak x set flow / lowest working flow: our own assumption for the profile's fact that it stalls.
    """
    losses = [] if lung.leak_resistance_cmh2o_s_l is None else [lung.leak_resistance_cmh2o_s_l]
    if profile.stalls_below_working_flow and controls.set_flow_l_min < profile.working_flow_min_l_min:
        lowest_l_s = flow_l_s * profile.working_flow_min_l_min / controls.set_flow_l_min
        losses.append(controls.peak_cmh2o / lowest_l_s)
    if not losses:
        return None
    return 1 / sum(1 / above_zero("leak resistance", loss, "cmH2O/(L/s)") for loss in losses)
