"""What one revision of one device can do: every fact the tool states about a device comes from here.

The field names are the keys of the profile files in `question_bank/device_profiles/`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from enum import StrEnum

from quizapp.ventilation.profile_checks import (
    FieldFault,
    ProfileError,
    number_faults,
    range_faults,
    text_faults,
)


class BaselineLaw(StrEnum):
    """How the pressure at which the next inflation starts is set."""

    RATIO = "ratio"
    FIXED = "fixed"


class SupplyDraw(StrEnum):
    """When gas leaves the cylinder: in both phases, or while the lung is inflated only."""

    CONTINUOUS = "continuous"
    INFLATION_ONLY = "inflation_only"


class MixLaw(StrEnum):
    """What opening the mix does to the flow into the breathing system.

    AIR_ADDED: the set flow is the oxygen, air comes on top, total = set flow x 0.79 / (F - 0.21).
    TOTAL_HELD: the set flow is the total, air takes the place of oxygen.
    """

    AIR_ADDED = "air_added"
    TOTAL_HELD = "total_held"


@dataclass(frozen=True, kw_only=True)
class DeviceProfile:
    """One revision of one device; raises `ProfileError` (a ValueError) naming every field that cannot be right.

    Throttle resistances (what the rate control turns) are in cmH2O/(L/s), open end first.
    `closed_end_bias_fraction` is the share of the inspiratory flow that keeps running through the throttle in
    expiration when the rate control is shut. `contents_*` is the cylinder gauge. `bench_confirmed_behaviours` lists
    what a clinical lead has seen a real device do; an empty list means that all behaviour is the model's.
    """

    code: str
    revision: int
    name: str
    driving_gas: str
    single_patient_use: bool
    breathes_ambient_air_on_supply_failure: bool
    working_flow_min_l_min: float
    working_flow_max_l_min: float
    working_flow_start_l_min: float
    stalls_below_working_flow: bool
    fio2_min_fraction: float
    mix_law: MixLaw
    supply_draw: SupplyDraw
    peak_min_cmh2o: float
    peak_max_cmh2o: float
    peak_delivered_cmh2o: float
    baseline_law: BaselineLaw
    baseline_ratio: float | None = None
    baseline_fixed_cmh2o: float | None = None
    throttle_min_cmh2o_s_l: float
    throttle_middle_cmh2o_s_l: float
    throttle_max_cmh2o_s_l: float
    closed_end_bias_fraction: float
    relief_cmh2o: float
    gauge_low_cmh2o: float
    gauge_high_cmh2o: float
    gauge_minor_cmh2o: float
    gauge_major_cmh2o: float
    contents_low_bar: float
    contents_high_bar: float
    contents_minor_bar: float
    contents_major_bar: float
    reference_compliance_ml_cmh2o: float
    reference_inspiratory_resistance_cmh2o_s_l: float
    reference_expiratory_resistance_cmh2o_s_l: float
    reference_dead_space_ml: float
    predicted_weight_min_kg: float
    assembly_joints: tuple[str, ...]
    joint_actions: tuple[str, ...]
    bench_confirmed_behaviours: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a profile that contradicts itself, naming all its faults at once."""
        faults = [*text_faults(self), *number_faults(self), *self._baseline_faults()]
        faults = faults or range_faults(self)
        if faults:
            raise ProfileError(faults)

    def __hash__(self) -> int:
        """Return the hash of what names it; two profiles that are equal have the same name."""
        return hash((self.code, self.revision))

    @property
    def slug(self) -> str:
        """The name of the profile file without its ending, such as tv-a-1."""
        return f"{self.code}-{self.revision}".lower()

    @property
    def label(self) -> str:
        """Code and revision as people say them, such as TV-A revision 1."""
        return f"{self.code} revision {self.revision}"

    def baseline_cmh2o(self, peak_cmh2o: float) -> float:
        """Give the gauge pressure (cmH2O) at which the next inflation starts when the peak control stands at a value.

        peak_cmh2o: within the peak control of the profile. Raises ValueError outside it. Source: the profile itself.
        """
        if not self.peak_min_cmh2o <= peak_cmh2o <= self.peak_max_cmh2o:
            raise ValueError(
                f"peak {peak_cmh2o:g} cmH2O is outside the control of {self.label}: "
                f"{self.peak_min_cmh2o:g} to {self.peak_max_cmh2o:g} cmH2O"
            )
        if self.baseline_law is BaselineLaw.RATIO:
            return (self.baseline_ratio or 0.0) * peak_cmh2o
        return self.baseline_fixed_cmh2o or 0.0

    def _baseline_faults(self) -> list[FieldFault]:
        wanted, other = "baseline_ratio", "baseline_fixed_cmh2o"
        if self.baseline_law is BaselineLaw.FIXED:
            wanted, other = other, wanted
        faults = []
        if getattr(self, wanted) is None:
            faults.append(FieldFault(wanted, f"is missing: the {self.baseline_law.value} baseline law needs it"))
        if getattr(self, other) is not None:
            faults.append(FieldFault(other, f"must be left out: the {self.baseline_law.value} law does not use it"))
        return faults


def from_mapping(values: Mapping[str, object]) -> DeviceProfile:
    """Build a profile from plain values (numbers, text, lists), as a parsed profile file gives them.

    Raises ProfileError with one fault per field for unknown, missing, wrongly typed or contradicting values.
    """
    known = {field.name: field for field in fields(DeviceProfile)}
    faults = [FieldFault(name, "is not a field of a device profile") for name in values if name not in known]
    taken: dict[str, object] = {}
    for name, field in known.items():
        if name in values:
            try:
                taken[name] = _read(str(field.type), values[name])
            except ValueError as wrong:
                faults.append(FieldFault(name, str(wrong)))
        elif field.default is MISSING:
            faults.append(FieldFault(name, "is missing"))
    if faults:
        raise ProfileError(faults)
    return DeviceProfile(**taken)  # type: ignore[arg-type]  # every value was read by its field's type above


_ENUMS: dict[str, type[StrEnum]] = {"BaselineLaw": BaselineLaw, "SupplyDraw": SupplyDraw, "MixLaw": MixLaw}


def _read(kind: str, value: object) -> object:
    """Give `value` as the field type called `kind`; raises ValueError saying what was expected."""
    if kind in _ENUMS:
        return _member(_ENUMS[kind], value)
    if kind.startswith("tuple"):
        return _texts(value)
    if kind.startswith("float"):
        return _number(value)
    wanted = {"str": str, "int": int, "bool": bool}[kind]
    if type(value) is not wanted:
        raise ValueError(f"must be {_SPOKEN[kind]}, not {value!r}")
    return value


_SPOKEN = {"str": "text", "int": "a whole number", "bool": "true or false"}


def _member(kind: type[StrEnum], value: object) -> StrEnum:
    try:
        return kind(str(value))
    except ValueError:
        raise ValueError(f"must be one of {', '.join(kind)}, not {value!r}") from None


def _texts(value: object) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or not all(isinstance(part, str) for part in value):
        raise ValueError(f"must be a list of texts, not {value!r}")
    return tuple(value)


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"must be a finite number, not {value!r}")
    return float(value)
