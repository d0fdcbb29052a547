"""Oxygen and air: the balance of a mixture, and what opening the mix does on a device of a profile.

Oxygen shares are fractions. Air counts as 0.21 unless said; 0.2095 for precision work (respiratory-care texts).
"""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.ventilation.constants import AIR_OXYGEN_FRACTION
from quizapp.ventilation.device_profile import DeviceProfile, MixLaw
from quizapp.ventilation.ranges import OutOfRangeError, above_zero, between, within, zero_or_more


@dataclass(frozen=True, kw_only=True)
class MixedFlow:
    """The flow into the breathing system and the oxygen from the source inside it, both in L/min."""

    total_l_min: float
    oxygen_l_min: float


def fio2_fraction(oxygen_l_min: float, air_l_min: float, air_fraction: float = AIR_OXYGEN_FRACTION) -> float:
    """Give the oxygen share of oxygen and air flows (L/min, 0 or more, not both 0); source: mixing balance."""
    zero_or_more("oxygen flow", oxygen_l_min, "L/min")
    zero_or_more("air flow", air_l_min, "L/min")
    total = above_zero("total flow", oxygen_l_min + air_l_min, "L/min")
    return (oxygen_l_min + air_fraction * air_l_min) / total


def air_per_oxygen(fio2: float, air_fraction: float = AIR_OXYGEN_FRACTION) -> float:
    """Give parts of air to one part of oxygen, (1 - F)/(F - air), for F above the air's share up to 1."""
    return (1 - between("oxygen share", fio2, "", air_fraction, 1)) / (fio2 - air_fraction)


def total_from_oxygen_l_min(oxygen_l_min: float, fio2: float, air_fraction: float = AIR_OXYGEN_FRACTION) -> float:
    """Give the total flow in L/min when air is added to an oxygen flow (L/min above 0), O2 x 0.79/(F - 0.21)."""
    return above_zero("oxygen flow", oxygen_l_min, "L/min") * (1 + air_per_oxygen(fio2, air_fraction))


def oxygen_in_total_l_min(total_l_min: float, fio2: float, air_fraction: float = AIR_OXYGEN_FRACTION) -> float:
    """Give the oxygen in L/min that a mixed total flow (L/min above 0) needs, total x (F - 0.21)/0.79."""
    between("oxygen share", fio2, "", air_fraction, 1)
    return above_zero("total flow", total_l_min, "L/min") * (fio2 - air_fraction) / (1 - air_fraction)


def oxygen_saved_l(total_l_min: float, fio2: float, duration_min: float) -> float:
    """Give the litres a blender saves against pure oxygen at the same total flow (L/min) over minutes (0 or more).

    Not for a device whose supply runs on unchanged when the mix is opened: there mixing saves nothing.
    """
    saved = total_l_min - oxygen_in_total_l_min(total_l_min, fio2)
    return saved * zero_or_more("duration", duration_min, "min")


def mixed_flow(profile: DeviceProfile, set_flow_l_min: float, fio2: float) -> MixedFlow:
    """Give total and oxygen flow in L/min for a set flow (above 0) and an oxygen share by the profile's mix law.

    Raises OutOfRangeError for a share below the profile's lowest or above 1. Source: the profile; mixing balance.
    """
    above_zero("set flow", set_flow_l_min, "L/min")
    within(f"oxygen share of {profile.label}", fio2, "", profile.fio2_min_fraction, 1)
    if profile.mix_law is MixLaw.AIR_ADDED:
        return MixedFlow(total_l_min=total_from_oxygen_l_min(set_flow_l_min, fio2), oxygen_l_min=set_flow_l_min)
    return MixedFlow(total_l_min=set_flow_l_min, oxygen_l_min=oxygen_in_total_l_min(set_flow_l_min, fio2))


def set_flow_for_total_l_min(profile: DeviceProfile, total_l_min: float, fio2: float) -> float:
    """Give the flow to set in L/min so that a total flow (above 0) goes into the breathing system at a mix.

    Raises OutOfRangeError when that is below the working flow of the profile or above its highest.
    """
    needed = above_zero("total flow", total_l_min, "L/min") / mixed_flow(profile, 1.0, fio2).total_l_min
    low, high = profile.working_flow_min_l_min, profile.working_flow_max_l_min
    if not low <= needed <= high:
        raise OutOfRangeError(f"{needed:.3g} L/min is outside the working flow of {profile.label}: {low:g} to {high:g}")
    return needed
