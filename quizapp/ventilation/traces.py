"""Pressure, lung volume and flow over time, sampled from the closed form: exact at every sample.

Each change of phase gives two samples at one moment, before and after, so that a drawn peak is the true peak.
A device that chatters has no closed form; its trace comes from `dynamics`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from quizapp.ventilation.pressure_cycling import CyclingSettings, CyclingState, cycling_state
from quizapp.ventilation.ranges import OutOfRangeError, above_zero, within

LONGEST_S = 600.0


class Phase(StrEnum):
    """The half of the breath the device is in."""

    INFLATION = "inflation"
    EXPIRATION = "expiration"


@dataclass(frozen=True, kw_only=True)
class Switch:
    """A change of phase: when, into which phase, at which lung volume."""

    time_s: float
    into: Phase
    volume_ml: float


@dataclass(frozen=True, kw_only=True)
class Trace:
    """Samples of one run: s, cmH2O at the gauge, mL in the lung above its rest, L/min into the lung (out is negative).

    All series are equally long; times never fall. `switches` lists the changes of phase after the start.
    """

    times_s: tuple[float, ...]
    pressure_cmh2o: tuple[float, ...]
    volume_ml: tuple[float, ...]
    flow_l_min: tuple[float, ...]
    switches: tuple[Switch, ...]


@dataclass(frozen=True, kw_only=True)
class Sample:
    """One moment: s, cmH2O at the gauge, mL in the lung above its rest, L/min into the lung."""

    time_s: float
    pressure_cmh2o: float
    volume_ml: float
    flow_l_min: float


def gather(samples: list[Sample], switches: list[Switch]) -> Trace:
    """Give the series of a list of samples."""
    return Trace(
        times_s=tuple(sample.time_s for sample in samples),
        pressure_cmh2o=tuple(sample.pressure_cmh2o for sample in samples),
        volume_ml=tuple(sample.volume_ml for sample in samples),
        flow_l_min=tuple(sample.flow_l_min for sample in samples),
        switches=tuple(switches),
    )


def passive_trace(
    settings: CyclingSettings, duration_s: float, step_s: float = 0.02, start_cmh2o: float | None = None
) -> Trace:
    """Give the trace of a passive lung from the start of an inflation.

    duration_s: above 0 up to 600. step_s: above 0. start_cmh2o: lung pressure at the start; None takes the steady
    end-expiratory one, or the restart pressure for a device that does not cycle.
    Raises OutOfRangeError, also for settings that chatter. Source: own model.
    """
    above_zero("duration", duration_s, "s")
    within("duration", duration_s, "s", 0, LONGEST_S)
    above_zero("step", step_s, "s")
    state = cycling_state(settings)
    if state is CyclingState.CHATTER:
        raise OutOfRangeError("these settings chatter: the closed form has no trace for them")
    steady = settings.alveolar_at_restart_cmh2o if state is CyclingState.CYCLING else settings.restart_cmh2o
    lung = steady if start_cmh2o is None else start_cmh2o
    samples: list[Sample] = []
    switches: list[Switch] = []
    began, phase = 0.0, Phase.INFLATION
    while began < duration_s:
        lasts = phase_length_s(settings, phase, lung)
        ends = min(began + lasts, duration_s)
        samples += [
            sample_at(settings, phase, lung_pressure_cmh2o(settings, phase, lung, moment - began), moment)
            for moment in _moments(began, ends, step_s)
        ]
        lung = lung_pressure_cmh2o(settings, phase, lung, ends - began)
        phase = Phase.EXPIRATION if phase is Phase.INFLATION else Phase.INFLATION
        began += lasts
        if began < duration_s:
            switches.append(Switch(time_s=began, into=phase, volume_ml=settings.compliance_l_cmh2o * lung * 1000))
    return gather(samples, switches)


def phase_length_s(settings: CyclingSettings, phase: Phase, lung_cmh2o: float) -> float:
    """Give how long a phase lasts from a lung pressure (cmH2O), infinite when its threshold is never met."""
    if phase is Phase.INFLATION:
        goal, rest, tau = settings.alveolar_at_cycling_cmh2o, _ceiling_cmh2o(settings), settings.inflation_tau_s
        if lung_cmh2o >= goal:
            return 0.0
        if math.isinf(tau):
            return settings.compliance_l_cmh2o * (goal - lung_cmh2o) / settings.flow_l_s
        return tau * math.log((rest - lung_cmh2o) / (rest - goal)) if rest > goal else math.inf
    if math.isinf(settings.exhaust_resistance_cmh2o_s_l):
        return 0.0 if lung_cmh2o <= settings.restart_cmh2o else math.inf
    goal, rest, tau = settings.alveolar_at_restart_cmh2o, settings.exhaust_pressure_cmh2o, settings.expiration_tau_s
    if settings.restart_cmh2o <= rest:
        return math.inf
    return tau * math.log((lung_cmh2o - rest) / (goal - rest)) if lung_cmh2o > goal else 0.0


def lung_pressure_cmh2o(settings: CyclingSettings, phase: Phase, start_cmh2o: float, elapsed_s: float) -> float:
    """Give the lung pressure some time into a phase that began at a lung pressure, in cmH2O."""
    if phase is Phase.INFLATION:
        if math.isinf(settings.inflation_tau_s):
            return start_cmh2o + settings.flow_l_s * elapsed_s / settings.compliance_l_cmh2o
        rest, tau = _ceiling_cmh2o(settings), settings.inflation_tau_s
    else:
        rest, tau = settings.exhaust_pressure_cmh2o, settings.expiration_tau_s
        if math.isinf(tau):
            return start_cmh2o
    return rest + (start_cmh2o - rest) * math.exp(-elapsed_s / tau)


def sample_at(settings: CyclingSettings, phase: Phase, lung_cmh2o: float, time_s: float) -> Sample:
    """Give gauge pressure, volume and flow of a passive lung at a lung pressure in a phase."""
    if phase is Phase.INFLATION:
        leak, resistance = settings.leak_conductance_l_s_cmh2o, settings.inspiratory_resistance_cmh2o_s_l
        flow_l_s = (settings.flow_l_s - leak * lung_cmh2o) / (1 + leak * resistance)
        pressure = lung_cmh2o + resistance * flow_l_s
    else:
        whole = settings.expiratory_resistance_cmh2o_s_l + settings.exhaust_resistance_cmh2o_s_l
        flow_l_s = -(lung_cmh2o - settings.exhaust_pressure_cmh2o) / whole
        pressure = lung_cmh2o + settings.expiratory_resistance_cmh2o_s_l * flow_l_s
    return Sample(
        time_s=time_s,
        pressure_cmh2o=pressure,
        volume_ml=settings.compliance_l_cmh2o * lung_cmh2o * 1000,
        flow_l_min=flow_l_s * 60,
    )


def _ceiling_cmh2o(settings: CyclingSettings) -> float:
    """Give the pressure at which a leak carries all the flow."""
    leak = settings.leak_resistance_cmh2o_s_l
    return math.inf if leak is None else settings.flow_l_s * leak


def _moments(began_s: float, ends_s: float, step_s: float) -> Iterator[float]:
    """Give the start, every whole step in between and the end of a phase."""
    yield began_s
    number = math.floor(began_s / step_s + 1e-9) + 1
    while number * step_s < ends_s - 1e-9:
        yield number * step_s
        number += 1
    yield ends_s
