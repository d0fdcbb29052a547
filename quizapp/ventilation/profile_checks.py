"""Which values a device profile may hold: single fields first, then how they must fit together."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from quizapp.ventilation.device_profile import DeviceProfile


class FieldFault(NamedTuple):
    """One field of a profile and what is wrong with it."""

    field: str
    message: str

    def __str__(self) -> str:
        return f"{self.field} {self.message}"


class ProfileError(ValueError):
    """All faults of one device profile at once; no profile was made."""

    def __init__(self, faults: list[FieldFault]) -> None:
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = tuple(faults)


#: Fields that may be zero or less, and fields that are a share with its own bounds; all others must be above zero.
_MAY_BE_ZERO = {"contents_low_bar", "baseline_fixed_cmh2o", "reference_dead_space_ml"}
_MAY_BE_NEGATIVE = {"gauge_low_cmh2o"}
_SHARES = {
    "fio2_min_fraction": (0.21, 1.0, "above 0.21 up to 1"),
    "baseline_ratio": (0.0, 1.0, "above 0 and below 1"),
    "closed_end_bias_fraction": (-1e-12, 1.0, "from 0 to below 1"),
}


def text_faults(profile: DeviceProfile) -> list[FieldFault]:
    """Name the texts that are empty and a revision below 1."""
    faults = [
        FieldFault(name, "is empty") for name in ("code", "name", "driving_gas") if not getattr(profile, name).strip()
    ]
    if profile.revision < 1:
        faults.append(FieldFault("revision", f"must be 1 or more, not {profile.revision}"))
    for name in ("assembly_joints", "joint_actions"):
        texts = getattr(profile, name)
        if not texts or not all(text.strip() for text in texts) or len(set(texts)) != len(texts):
            faults.append(FieldFault(name, "must list at least one text, none empty, none twice"))
    return faults


def number_faults(profile: DeviceProfile) -> list[FieldFault]:
    """Name the numbers that are not finite or lie outside what the quantity can be."""
    faults = []
    for name, value in vars(profile).items():
        if isinstance(value, float | int) and not isinstance(value, bool) and name != "revision":
            message = _number_message(name, value)
            if message:
                faults.append(FieldFault(name, message))
    return faults


def _number_message(name: str, value: float) -> str:
    if not math.isfinite(value):
        return f"must be a finite number, not {value}"
    if name in _SHARES:
        low, high, spoken = _SHARES[name]
        top_allowed = name == "fio2_min_fraction"
        inside = low < value < high or (top_allowed and value == high)
        return "" if inside else f"must be {spoken}, not {value:g}"
    if name in _MAY_BE_NEGATIVE:
        return ""
    if name in _MAY_BE_ZERO:
        return "" if value >= 0 else f"must be 0 or more, not {value:g}"
    return "" if value > 0 else f"must be above 0, not {value:g}"


#: Each row must rise from left to right; "<" strictly, "<=" may be equal.
_RISING = (
    ("working_flow_min_l_min", "<", "working_flow_max_l_min"),
    ("working_flow_min_l_min", "<=", "working_flow_start_l_min"),
    ("working_flow_start_l_min", "<=", "working_flow_max_l_min"),
    ("peak_min_cmh2o", "<", "peak_max_cmh2o"),
    ("peak_min_cmh2o", "<=", "peak_delivered_cmh2o"),
    ("peak_delivered_cmh2o", "<=", "peak_max_cmh2o"),
    ("peak_max_cmh2o", "<", "relief_cmh2o"),
    ("relief_cmh2o", "<=", "gauge_high_cmh2o"),
    ("throttle_min_cmh2o_s_l", "<", "throttle_middle_cmh2o_s_l"),
    ("throttle_middle_cmh2o_s_l", "<", "throttle_max_cmh2o_s_l"),
    ("gauge_low_cmh2o", "<", "gauge_high_cmh2o"),
    ("contents_low_bar", "<", "contents_high_bar"),
)
_SCALES = (("gauge", "cmh2o"), ("contents", "bar"))


def range_faults(profile: DeviceProfile) -> list[FieldFault]:
    """Name the pairs of numbers that do not fit together (limits crossed, marks that miss the ends of a scale)."""
    faults = []
    for lower, sign, upper in _RISING:
        low, high = getattr(profile, lower), getattr(profile, upper)
        if low > high or (sign == "<" and low == high):
            faults.append(FieldFault(lower, f"({low:g}) must be {sign} {upper} ({high:g})"))
    fixed = profile.baseline_fixed_cmh2o
    if fixed is not None and fixed >= profile.peak_min_cmh2o:
        faults.append(FieldFault("baseline_fixed_cmh2o", f"({fixed:g}) must be < peak_min_cmh2o"))
    for scale, unit in _SCALES:
        faults += _scale_faults(profile, scale, unit)
    return faults


def _scale_faults(profile: DeviceProfile, scale: str, unit: str) -> list[FieldFault]:
    low, high, minor, major = (getattr(profile, f"{scale}_{part}_{unit}") for part in ("low", "high", "minor", "major"))
    faults = []
    if not _whole((high - low) / minor):
        faults.append(FieldFault(f"{scale}_minor_{unit}", f"({minor:g}) must divide the scale {low:g} to {high:g}"))
    if not _whole(major / minor):
        faults.append(
            FieldFault(f"{scale}_major_{unit}", f"({major:g}) must be a multiple of the small mark {minor:g}")
        )
    return faults


def _whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-9
