"""What can go wrong with lung, tube and circuit, as a change of the lung the device sees and a shape of capnogram.

Sizes of the changes are our own choice for teaching; the directions that follow are the model's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from quizapp.ventilation.capnogram import CapnogramShape
from quizapp.ventilation.dynamics import Effort
from quizapp.ventilation.pressure_cycling import Breathing
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.set_device import Lung


class Condition(StrEnum):
    """A state of the patient, the tube or the circuit."""

    NONE = "none"
    BRONCHOSPASM = "bronchospasm"
    KINKED_TUBE = "kinked tube"
    LOW_COMPLIANCE = "low compliance"
    LEAK = "leak at circuit or cuff"
    DISCONNECTION = "disconnection"
    OESOPHAGEAL_TUBE = "tube in the oesophagus"
    REBREATHING = "rebreathing"
    RISING_CO2 = "rising carbon dioxide"
    FALLING_CO2 = "falling carbon dioxide"
    LOW_OUTPUT = "low cardiac output or arrest"
    TRAPPED_GAS = "trapped gas"
    EFFORT = "breathing effort"
    COUGH = "cough"


@dataclass(frozen=True, kw_only=True)
class _Change:
    """What a condition does: factors on the lung, resistance added (cmH2O/(L/s)), a leak, a shape."""

    shape: CapnogramShape
    compliance_factor: float = 1.0
    expiratory_factor: float = 1.0
    added_resistance: float = 0.0
    leak_resistance_cmh2o_s_l: float | None = None


_CHANGES = {
    Condition.NONE: _Change(shape=CapnogramShape.NORMAL),
    Condition.BRONCHOSPASM: _Change(shape=CapnogramShape.RISING_PLATEAU, added_resistance=12),
    Condition.KINKED_TUBE: _Change(shape=CapnogramShape.RISING_PLATEAU, added_resistance=60),
    Condition.LOW_COMPLIANCE: _Change(shape=CapnogramShape.NORMAL, compliance_factor=0.4),
    Condition.LEAK: _Change(shape=CapnogramShape.SLANTED_FALL, leak_resistance_cmh2o_s_l=80),
    Condition.DISCONNECTION: _Change(shape=CapnogramShape.SUDDEN_LOSS, leak_resistance_cmh2o_s_l=0.5),
    Condition.OESOPHAGEAL_TUBE: _Change(shape=CapnogramShape.SHRINKING_HUMPS),
    Condition.REBREATHING: _Change(shape=CapnogramShape.RAISED_BASELINE),
    Condition.RISING_CO2: _Change(shape=CapnogramShape.CLIMBING),
    Condition.FALLING_CO2: _Change(shape=CapnogramShape.SINKING),
    Condition.LOW_OUTPUT: _Change(shape=CapnogramShape.FADING),
    Condition.TRAPPED_GAS: _Change(shape=CapnogramShape.RISING_PLATEAU, expiratory_factor=4),
    Condition.EFFORT: _Change(shape=CapnogramShape.NOTCHED_PLATEAU),
    Condition.COUGH: _Change(shape=CapnogramShape.CUT_OFF_PLATEAU),
}


def capnogram_shape(condition: Condition) -> CapnogramShape:
    """Give the shape of capnogram that goes with a condition."""
    return _CHANGES[condition].shape


def lung_under(condition: Condition, lung: Lung) -> Lung:
    """Give a lung as the device meets it under a condition; efforts are given by `efforts_under`."""
    change = _CHANGES[condition]
    inspiratory = lung.inspiratory_resistance_cmh2o_s_l + change.added_resistance
    expiratory = lung.expiratory_resistance_cmh2o_s_l * change.expiratory_factor
    return replace(
        lung,
        compliance_ml_cmh2o=lung.compliance_ml_cmh2o * change.compliance_factor,
        inspiratory_resistance_cmh2o_s_l=inspiratory,
        expiratory_resistance_cmh2o_s_l=expiratory + change.added_resistance,
        leak_resistance_cmh2o_s_l=change.leak_resistance_cmh2o_s_l or lung.leak_resistance_cmh2o_s_l,
    )


def efforts_under(condition: Condition, breathing: Breathing, breaths: int) -> tuple[Effort, ...]:
    """Give a number of pushes or pulls of the chest under a condition, one undisturbed breath apart.

    An effort spans the end of the first inflation; a cough comes in its first half. Other conditions have none.
    Raises OutOfRangeError when the device does not cycle.
    """
    if condition not in (Condition.EFFORT, Condition.COUGH):
        return ()
    inflation_s, expiration_s = breathing.inflation_s, breathing.expiration_s
    if inflation_s is None or expiration_s is None:
        raise OutOfRangeError(f"a device that is {breathing.state.value} has no breaths to put an effort in")
    cycle_s = inflation_s + expiration_s
    if condition is Condition.COUGH:
        return tuple(
            Effort(start_s=number * cycle_s + inflation_s * 0.4, length_s=0.3, height_cmh2o=-40)
            for number in range(breaths)
        )
    return tuple(
        Effort(start_s=number * cycle_s + inflation_s * 0.7, length_s=inflation_s, height_cmh2o=5)
        for number in range(breaths)
    )
