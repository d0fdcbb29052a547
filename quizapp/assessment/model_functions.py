"""The functions of the ventilation model that a content file may call, one line each; all else cannot be evaluated.

To offer one more: add its line here, with its published value in the tests of its own module.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from quizapp.assessment import device_functions
from quizapp.ventilation import altitude, carbon_dioxide, gas_supply, lung, mechanics, mixing, real_oxygen, timing


@dataclass(frozen=True)
class ModelFunction:
    """A function of the model, how many numbers it takes, and what they are, in order."""

    run: Callable[..., float]
    arguments: int
    takes: str
    needs_profile: bool = False


def _of_device(run: Callable[..., float]) -> ModelFunction:
    takes = "set flow, peak, oxygen fraction, rate control, compliance, resistance, leak (0: none)"
    return ModelFunction(run, device_functions.ARGUMENTS, takes, needs_profile=True)


MODEL_FUNCTIONS: dict[str, ModelFunction] = {
    "remaining_fraction": ModelFunction(lung.remaining_fraction, 2, "elapsed s, time constant s"),
    "time_constant_s": ModelFunction(lung.time_constant_s, 2, "resistance cmH2O/(L/s), compliance mL/cmH2O"),
    "trapped_volume_ml": ModelFunction(lung.trapped_volume_ml, 3, "volume mL, expiration s, time constant s"),
    "auto_peep_cmh2o": ModelFunction(lung.auto_peep_cmh2o, 2, "trapped mL, compliance mL/cmH2O"),
    "resistive_pressure_cmh2o": ModelFunction(
        mechanics.resistive_pressure_cmh2o, 2, "resistance cmH2O/(L/s), flow L/min"
    ),
    "dynamic_compliance_ml_cmh2o": ModelFunction(
        mechanics.dynamic_compliance_ml_cmh2o, 3, "volume mL, peak cmH2O, baseline cmH2O"
    ),
    "mean_airway_pressure_cmh2o": ModelFunction(
        mechanics.mean_airway_pressure_cmh2o, 3, "peak cmH2O, baseline cmH2O, x of 1:x"
    ),
    "volume_from_flow_ml": ModelFunction(timing.volume_from_flow_ml, 2, "flow L/min, inflation s"),
    "fio2_fraction": ModelFunction(mixing.fio2_fraction, 2, "oxygen L/min, air L/min"),
    "air_per_oxygen": ModelFunction(mixing.air_per_oxygen, 1, "oxygen fraction"),
    "oxygen_in_total_l_min": ModelFunction(mixing.oxygen_in_total_l_min, 2, "total flow L/min, oxygen fraction"),
    "oxygen_saved_l": ModelFunction(mixing.oxygen_saved_l, 3, "total flow L/min, oxygen fraction, min"),
    "alveolar_oxygen_mmhg": ModelFunction(
        altitude.alveolar_oxygen_mmhg, 3, "oxygen fraction, barometric mmHg, arterial CO2 mmHg"
    ),
    "standard_pressure_mmhg": ModelFunction(altitude.standard_pressure_mmhg, 1, "height m"),
    "standard_pressure_at_feet_mmhg": ModelFunction(altitude.standard_pressure_at_feet_mmhg, 1, "height ft"),
    "fio2_to_hold_fraction": ModelFunction(
        altitude.fio2_to_hold_fraction, 2, "oxygen fraction at sea level, barometric mmHg"
    ),
    "ventilation_for_co2_l_min": ModelFunction(
        carbon_dioxide.ventilation_for_co2_l_min, 2, "CO2 output mL/min, arterial CO2 mmHg"
    ),
    "volume_for_target_ml": ModelFunction(
        carbon_dioxide.volume_for_target_ml, 4, "volume mL, dead space mL, CO2 now, CO2 wanted"
    ),
    "gauge_at_temperature_bar": ModelFunction(gas_supply.gauge_at_temperature_bar, 3, "gauge bar, from °C, to °C"),
    "real_gauge_at_temperature_bar": ModelFunction(
        real_oxygen.real_gauge_at_temperature_bar, 3, "gauge bar, from °C, to °C"
    ),
    "device_state": _of_device(device_functions.state),
    "device_volume_ml": _of_device(device_functions.volume_ml),
    "device_rate_per_min": _of_device(device_functions.rate_per_min),
    "device_inflation_s": _of_device(device_functions.inflation_s),
    "device_expiration_s": _of_device(device_functions.expiration_s),
    "device_minute_volume_l_min": _of_device(device_functions.minute_volume_l_min),
    "device_alveolar_l_min": _of_device(device_functions.alveolar_l_min),
    "device_parked_cmh2o": _of_device(device_functions.parked_cmh2o),
}
