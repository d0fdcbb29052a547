"""Carbon dioxide on a strip, sampled from the model's shapes with the end of every plateau among the samples."""

from __future__ import annotations

import math

from quizapp.ventilation.capnogram import CapnogramShape, Strip, co2_mmhg
from quizapp.web.instruments.plot import Point

STEP_S = 0.02
SHAPES = {
    "normal": CapnogramShape.NORMAL,
    "rising_plateau": CapnogramShape.RISING_PLATEAU,
    "notch": CapnogramShape.NOTCHED_PLATEAU,
    "raised_baseline": CapnogramShape.RAISED_BASELINE,
    "slanted_fall": CapnogramShape.SLANTED_FALL,
    "cut_off_plateau": CapnogramShape.CUT_OFF_PLATEAU,
    "abrupt_loss": CapnogramShape.SUDDEN_LOSS,
    "shrinking_humps": CapnogramShape.SHRINKING_HUMPS,
    "decay": CapnogramShape.FADING,
    "slow_climb": CapnogramShape.CLIMBING,
    "slow_fall": CapnogramShape.SINKING,
    "terminal_dip": CapnogramShape.TERMINAL_DIP,
}


def capnogram_strip(
    *,
    shape: str,
    end_tidal_mmhg: float,
    inflation_s: float,
    expiration_s: float,
    baseline_mmhg: float = 0.0,
    shoulder_mmhg: float = 0.0,
    first_late_breath: int = 2,
) -> Strip:
    """Return the model's strip for a shape by name; a shoulder of 0 leaves the shape its own. Raises ValueError."""
    if shape not in SHAPES:
        raise ValueError(f"{shape!r} is not a shape of a capnogram")
    height = end_tidal_mmhg - baseline_mmhg
    return Strip(
        shape=SHAPES[shape],
        end_tidal_mmhg=end_tidal_mmhg,
        rate_per_min=60 / (inflation_s + expiration_s),
        expiration_parts=expiration_s / inflation_s,
        baseline_mmhg=baseline_mmhg,
        onset_breath=first_late_breath,
        shoulder_fraction=(shoulder_mmhg - baseline_mmhg) / height if shoulder_mmhg else None,
    )


def capnogram_points(strip: Strip, strip_s: float, lead_s: float = 0.0) -> list[Point]:
    """Return the samples (s, mmHg); the first inflation begins `lead_s` into the strip, after the end of a breath."""
    cycle = 60 / strip.rate_per_min
    shift = math.ceil(lead_s / cycle) * cycle - lead_s if lead_s > 0 else 0.0
    moments = {number * STEP_S for number in range(math.floor(strip_s / STEP_S + 1e-9) + 1)} | {strip_s}
    moments |= {number * cycle - shift for number in range(math.ceil((strip_s + shift) / cycle) + 1)}
    inside = sorted(moment for moment in moments if -1e-9 <= moment <= strip_s + 1e-9)
    return [(max(moment, 0.0), co2_mmhg(strip, max(moment + shift, 0.0))) for moment in inside]
