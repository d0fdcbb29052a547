"""Litres in a cylinder, what the device draws, and how long that lasts.

The draw always comes from the device profile: never from a minute volume, which would promise too much time.
Contents here are bedside rules; `real_oxygen` says how far real gas departs from them.
"""

from __future__ import annotations

import math

from quizapp.ventilation.constants import ZERO_CELSIUS_K
from quizapp.ventilation.device_profile import DeviceProfile, SupplyDraw
from quizapp.ventilation.mixing import mixed_flow
from quizapp.ventilation.ranges import OutOfRangeError, above_zero, between, zero_or_more


def contents_l(water_l: float, gauge_bar: float) -> float:
    """Give contents in L as water capacity (L above 0) times gauge (bar, 0 or more); source: Boyle's law, bedside."""
    return above_zero("water capacity", water_l, "L") * zero_or_more("gauge", gauge_bar, "bar")


def contents_by_factor_l(factor_l_psi: float, gauge_psi: float) -> float:
    """Give contents in L as factor (L/psi above 0) times gauge (psi, 0 or more); source: MD0542."""
    return above_zero("cylinder factor", factor_l_psi, "L/psi") * zero_or_more("gauge", gauge_psi, "psi")


def contents_of_part_full_l(nominal_l: float, gauge_bar: float, full_bar: float) -> float:
    """Give contents in L as nominal contents (L) times gauge over full gauge (bar above 0)."""
    share = zero_or_more("gauge", gauge_bar, "bar") / above_zero("full gauge", full_bar, "bar")
    return above_zero("nominal contents", nominal_l, "L") * share


def factor_l_psi(full_contents_l: float, full_psi: float) -> float:
    """Give a cylinder's factor in L/psi from its full contents (L) and full gauge (psi), both above 0."""
    return above_zero("full contents", full_contents_l, "L") / above_zero("full gauge", full_psi, "psi")


def usable_l(water_l: float, gauge_bar: float, reserve_bar: float) -> float:
    """Give the litres above the reserve (bar, 0 or more); 0 when the gauge stands at or below the reserve."""
    zero_or_more("gauge", gauge_bar, "bar")
    left = max(0.0, gauge_bar - zero_or_more("reserve", reserve_bar, "bar"))
    return contents_l(water_l, left)


def usable_by_factor_l(factor: float, gauge_psi: float, reserve_psi: float) -> float:
    """Give the litres above the reserve (psi, 0 or more) by a factor in L/psi; 0 at or below the reserve."""
    zero_or_more("gauge", gauge_psi, "psi")
    left = max(0.0, gauge_psi - zero_or_more("reserve", reserve_psi, "psi"))
    return contents_by_factor_l(factor, left)


def cylinder_draw_l_min(
    profile: DeviceProfile, *, set_flow_l_min: float, fio2_fraction: float = 1.0, duty_fraction: float = 1.0
) -> float:
    """Give the oxygen that leaves the cylinder in L/min, by the profile's supply draw and mix law.

    set_flow_l_min: above 0. fio2_fraction: within the profile's mix. duty_fraction: inflation share of the cycle,
    above 0 up to 1; a device that draws in both phases ignores it, and 1 (the default) errs on the safe side.
    Raises OutOfRangeError. Source: the profile; mixing balance.
    """
    between("inflation share", duty_fraction, "", 0, 1)
    oxygen = mixed_flow(profile, set_flow_l_min, fio2_fraction).oxygen_l_min
    if profile.supply_draw is SupplyDraw.INFLATION_ONLY:
        return oxygen * duty_fraction
    return oxygen


def oxygen_time_min(
    profile: DeviceProfile,
    *,
    usable_contents_l: float,
    set_flow_l_min: float,
    fio2_fraction: float = 1.0,
    duty_fraction: float = 1.0,
) -> float:
    """Give the minutes a device runs on usable litres (0 or more); the other arguments as `cylinder_draw_l_min`."""
    draw = cylinder_draw_l_min(
        profile, set_flow_l_min=set_flow_l_min, fio2_fraction=fio2_fraction, duty_fraction=duty_fraction
    )
    return zero_or_more("usable contents", usable_contents_l, "L") / draw


def gauge_after_bar(gauge_bar: float, draw_l_min: float, duration_min: float, water_l: float) -> float:
    """Give the gauge in bar after a draw (L/min above 0) for minutes (0 or more); raises when it would run out."""
    used = above_zero("draw", draw_l_min, "L/min") * zero_or_more("duration", duration_min, "min")
    left = zero_or_more("gauge", gauge_bar, "bar") - used / above_zero("water capacity", water_l, "L")
    if left < 0:
        raise OutOfRangeError(f"the cylinder is empty before {duration_min:g} min are over")
    return left


def gauge_needed_bar(
    *, draw_l_min: float, duration_min: float, water_l: float, reserve_bar: float, time_factor: float
) -> float:
    """Give the gauge in bar needed to leave: reserve + time_factor x draw x time / water capacity.

    time_factor: above 0; planning for twice the expected time is common practice, no source, so the service sets it.
    """
    above_zero("time factor", time_factor, "")
    planned_l = time_factor * above_zero("draw", draw_l_min, "L/min") * above_zero("duration", duration_min, "min")
    return zero_or_more("reserve", reserve_bar, "bar") + planned_l / above_zero("water capacity", water_l, "L")


def cylinders_needed(
    *,
    draw_l_min: float,
    duration_min: float,
    water_l: float,
    full_bar: float,
    reserve_bar: float,
    time_factor: float,
) -> int:
    """Give the whole number of full cylinders for a journey, each keeping its reserve; arguments as `gauge_needed_bar`.

    Raises OutOfRangeError when a full cylinder holds nothing above the reserve.
    """
    each_l = above_zero("contents above the reserve", usable_l(water_l, full_bar, reserve_bar), "L")
    planned_l = above_zero("draw", draw_l_min, "L/min") * above_zero("duration", duration_min, "min")
    exact = above_zero("time factor", time_factor, "") * planned_l / each_l
    return math.ceil(exact - 1e-9)


def measured_draw_l_min(water_l: float, earlier_bar: float, later_bar: float, elapsed_min: float) -> float:
    """Give the true draw in L/min from two gauge readings (bar) some minutes (above 0) apart.

    Raises OutOfRangeError when the later reading is higher.
    """
    fall = zero_or_more("fall of the gauge", earlier_bar - later_bar, "bar")
    return contents_l(water_l, fall) / above_zero("time between readings", elapsed_min, "min")


def flow_that_lasts_l_min(usable_contents_l: float, duration_min: float, time_factor: float) -> float:
    """Give the draw in L/min at which usable litres last time_factor times the duration (min), all above 0.

    Below the device's lowest working flow the plan needs another cylinder, not a thinner flow.
    """
    planned_min = above_zero("time factor", time_factor, "") * above_zero("duration", duration_min, "min")
    return above_zero("usable contents", usable_contents_l, "L") / planned_min


def gauge_at_temperature_bar(gauge_bar: float, from_c: float, to_c: float) -> float:
    """Give the gauge in bar of the same gas at another temperature (C) by the bedside rule, P x T2/T1 in kelvin.

    Raises OutOfRangeError below absolute zero. Real oxygen at full pressure moves more: see `real_oxygen`.
    """
    hot = above_zero("absolute temperature", from_c + ZERO_CELSIUS_K, "K")
    cold = above_zero("absolute temperature", to_c + ZERO_CELSIUS_K, "K")
    return zero_or_more("gauge", gauge_bar, "bar") * cold / hot
