"""The arithmetic of a breath's timing: rate, phases, ratio, duty, and counting by hand.

Any pause counts in the inflation time. Source: arithmetic; examples from ventilation teaching pages in the tests.
"""

from __future__ import annotations

from quizapp.ventilation.ranges import above_zero, between


def cycle_time_s(rate_per_min: float) -> float:
    """Give the length of one whole breath in s at a rate above 0 /min; raises OutOfRangeError."""
    return 60 / above_zero("rate", rate_per_min, "/min")


def rate_per_min(inflation_s: float, expiration_s: float) -> float:
    """Give breaths a minute from the two phases, each above 0 s; raises OutOfRangeError."""
    return 60 / (above_zero("inflation time", inflation_s, "s") + above_zero("expiratory time", expiration_s, "s"))


def expiration_from_rate_s(rate: float, inflation_s: float) -> float:
    """Give the expiratory time in s left at a rate (/min) when inflation takes a given time.

    Raises OutOfRangeError when inflation does not fit into the cycle.
    """
    cycle = cycle_time_s(rate)
    above_zero("inflation time", inflation_s, "s")
    return above_zero("expiratory time", cycle - inflation_s, "s")


def expiration_per_inflation(inflation_s: float, expiration_s: float) -> float:
    """Give x of the ratio 1:x (expiratory over inflation time), both above 0 s; raises OutOfRangeError."""
    return above_zero("expiratory time", expiration_s, "s") / above_zero("inflation time", inflation_s, "s")


def duty_fraction(inflation_s: float, expiration_s: float) -> float:
    """Give the share of the cycle that is inflation, I/(I+E), both above 0 s; raises OutOfRangeError."""
    return above_zero("inflation time", inflation_s, "s") / (
        inflation_s + above_zero("expiratory time", expiration_s, "s")
    )


def inflation_from_ratio_s(rate: float, expiration_parts: float) -> float:
    """Give the inflation time in s at a rate (/min) and a ratio 1:expiration_parts, both above 0."""
    return cycle_time_s(rate) / (1 + above_zero("expiratory parts", expiration_parts, ""))


def expiration_from_ratio_s(rate: float, expiration_parts: float) -> float:
    """Give the expiratory time in s at a rate (/min) and a ratio 1:expiration_parts, both above 0."""
    return inflation_from_ratio_s(rate, expiration_parts) * expiration_parts


def inflation_from_flow_s(volume_ml: float, flow_l_min: float) -> float:
    """Give the inflation time in s of a volume (mL) at a constant flow (L/min), both above 0."""
    return above_zero("volume", volume_ml, "mL") / 1000 / (above_zero("flow", flow_l_min, "L/min") / 60)


def volume_from_flow_ml(flow_l_min: float, inflation_s: float) -> float:
    """Give the volume in mL that a constant flow (L/min) brings in an inflation time (s), both above 0."""
    return above_zero("flow", flow_l_min, "L/min") / 60 * above_zero("inflation time", inflation_s, "s") * 1000


def counted_rate_per_min(breaths: int, window_s: float) -> float:
    """Give the rate from breaths (1 or more) counted in a window of whole breaths (s above 0)."""
    return above_zero("number of breaths", breaths, "") * 60 / above_zero("window", window_s, "s")


def rate_from_stopwatch_per_min(counts: int, elapsed_s: float) -> float:
    """Give the rate when the stopwatch started on count one: counts (2 or more) mark counts - 1 whole breaths.

    elapsed_s: above 0. Raises OutOfRangeError. A hand on a stopwatch errs by about 0.2 s, so time several breaths.
    """
    between("counts", counts, "", 1, 1000)
    return counted_rate_per_min(counts - 1, elapsed_s)


def minute_volume_l_min(tidal_volume_ml: float, rate: float) -> float:
    """Give the minute volume in L/min from mL a breath and breaths a minute, both above 0."""
    return above_zero("tidal volume", tidal_volume_ml, "mL") / 1000 * above_zero("rate", rate, "/min")


def minute_volume_from_flow_l_min(flow_l_min: float, expiration_parts: float) -> float:
    """Give what a constant flow (L/min) brings to the lungs a minute at a ratio 1:expiration_parts, both above 0."""
    return above_zero("flow", flow_l_min, "L/min") / (1 + above_zero("expiratory parts", expiration_parts, ""))
