"""What the device in the profile does with given controls on a given lung, as functions of plain numbers.

Arguments in order: set flow (L/min), peak (cmH2O), oxygen fraction, rate control (0 open to 1 shut), compliance
(mL/cmH2O), resistance in both directions (cmH2O/(L/s)), leak (cmH2O/(L/s), 0 for none).
"""

from __future__ import annotations

from collections.abc import Callable

from quizapp.ventilation.device_profile import DeviceProfile
from quizapp.ventilation.pressure_cycling import Breathing, CyclingState
from quizapp.ventilation.set_device import Controls, Lung, breathe_with, reference_lung

ARGUMENTS = 7

DeviceFunction = Callable[..., float]

_STATES = {
    CyclingState.CYCLING: 0.0,
    CyclingState.STALLED_IN_INFLATION: 1.0,
    CyclingState.STALLED_IN_EXPIRATION: 2.0,
    CyclingState.CHATTER: 3.0,
}


def breathing(profile: DeviceProfile, *numbers: float) -> Breathing:
    """Return the steady breathing; raises ValueError for controls the profile does not have."""
    flow, peak, oxygen, rate_control, compliance, resistance, leak = numbers
    controls = Controls(set_flow_l_min=flow, peak_cmh2o=peak, fio2_fraction=oxygen, throttle_position=rate_control)
    lung = Lung(
        compliance_ml_cmh2o=compliance,
        inspiratory_resistance_cmh2o_s_l=resistance,
        expiratory_resistance_cmh2o_s_l=resistance,
        dead_space_ml=reference_lung(profile).dead_space_ml,
        leak_resistance_cmh2o_s_l=leak or None,
    )
    return breathe_with(profile, controls, lung)


def state(profile: DeviceProfile, *numbers: float) -> float:
    """Return 0 cycling, 1 stalled in inflation, 2 stalled in expiration, 3 chatter."""
    return _STATES[breathing(profile, *numbers).state]


def volume_ml(profile: DeviceProfile, *numbers: float) -> float:
    """Return the volume of a breath in mL, 0 when the device has stopped."""
    return breathing(profile, *numbers).tidal_volume_ml


def minute_volume_l_min(profile: DeviceProfile, *numbers: float) -> float:
    """Return the minute volume in L/min, 0 when the device has stopped."""
    return breathing(profile, *numbers).minute_volume_l_min


def alveolar_l_min(profile: DeviceProfile, *numbers: float) -> float:
    """Return the alveolar ventilation in L/min with the profile's reference dead space."""
    return breathing(profile, *numbers).alveolar_ventilation_l_min(profile.reference_dead_space_ml)


def rate_per_min(profile: DeviceProfile, *numbers: float) -> float:
    """Return the rate per minute; raises ValueError in chatter, where the model has none."""
    return _known(breathing(profile, *numbers).rate_per_min)


def inflation_s(profile: DeviceProfile, *numbers: float) -> float:
    """Return the inflation time in s; raises ValueError when the device has stopped."""
    return _known(breathing(profile, *numbers).inflation_s)


def expiration_s(profile: DeviceProfile, *numbers: float) -> float:
    """Return the expiratory time in s; raises ValueError when the device has stopped."""
    return _known(breathing(profile, *numbers).expiration_s)


def parked_cmh2o(profile: DeviceProfile, *numbers: float) -> float:
    """Return where the gauge rests when the device has stopped; raises ValueError while it cycles."""
    return _known(breathing(profile, *numbers).parked_cmh2o)


def _known(value: float | None) -> float:
    if value is None:
        raise ValueError("the device does not cycle, or does, where this has no value")
    return value
