"""The same device and lung stepped through time: for changing settings, a patient who moves, and soft tubing.

Implicit midpoint steps of a linear circuit, stable for any values; moments of switching are interpolated in a step.
Where the lung is passive and the tubing stiff it agrees with the closed form (tests).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.ventilation.pressure_cycling import CyclingSettings
from quizapp.ventilation.ranges import OutOfRangeError, above_zero, within, zero_or_more
from quizapp.ventilation.traces import LONGEST_S, Phase, Sample, Switch, Trace, gather

STEP_S = 0.001
#: Softness of tubing and filter that gives chatter its rate, mL/cmH2O (own assumption).
USUAL_TUBING_ML_CMH2O = 2.0
#: Below this the airway and the gauge are taken as one place, cmH2O/(L/s).
_LEAST_RESISTANCE = 0.01


@dataclass(frozen=True, kw_only=True)
class Effort:
    """One push or pull of the chest as half a sine: start and length in s, height in cmH2O (breathing in is above 0).

    A cough or a push is below 0.
    """

    start_s: float
    length_s: float
    height_cmh2o: float

    def pressure_cmh2o(self, time_s: float) -> float:
        """Give the muscle pressure at a moment (s)."""
        share = (time_s - self.start_s) / self.length_s
        return self.height_cmh2o * math.sin(math.pi * share) if 0 <= share <= 1 else 0.0


@dataclass(frozen=True, kw_only=True)
class From:
    """Settings that hold from a moment (s) on."""

    time_s: float
    settings: CyclingSettings


@dataclass(frozen=True, kw_only=True)
class _Moment:
    """Where the run stands: lung recoil and gauge in cmH2O."""

    time_s: float
    lung: float
    gauge: float
    phase: Phase


def run(
    course: Sequence[From],
    duration_s: float,
    *,
    efforts: Sequence[Effort] = (),
    tubing_ml_cmh2o: float = USUAL_TUBING_ML_CMH2O,
    sample_s: float = 0.02,
    start_cmh2o: float | None = None,
) -> Trace:
    """Give the trace of a course of settings from the start of an inflation.

    course: at least one entry, the first at 0 s, times rising. duration_s: above 0 up to 600.
    tubing_ml_cmh2o: 0.05 to 20, small values for stiff tubing. start_cmh2o: lung pressure, None for the restart one.
    Raises OutOfRangeError. Source: equation of motion; own model.
    """
    _check(course, duration_s, efforts, tubing_ml_cmh2o, sample_s)
    first = course[0].settings
    lung = first.restart_cmh2o if start_cmh2o is None else start_cmh2o
    now = _Moment(time_s=0.0, lung=lung, gauge=lung, phase=Phase.INFLATION)
    samples: list[Sample] = []
    switches: list[Switch] = []
    last_kept = -math.inf
    for number in range(round(duration_s / STEP_S) + 1):
        settings = _in_force(course, number * STEP_S)
        if now.time_s - last_kept >= sample_s - STEP_S / 2:
            samples.append(_sample(settings, now, efforts))
            last_kept = now.time_s
        after = _step(settings, now, efforts, tubing_ml_cmh2o / 1000)
        if after.phase is not now.phase:
            switches.append(_switch(settings, now, after))
            samples.append(_sample(settings, after, efforts))
        now = after
    return gather(samples, switches)


def _check(
    course: Sequence[From], duration_s: float, efforts: Sequence[Effort], tubing_ml: float, sample_s: float
) -> None:
    above_zero("duration", duration_s, "s")
    within("duration", duration_s, "s", 0, LONGEST_S)
    within("softness of the tubing", tubing_ml, "mL/cmH2O", 0.05, 20)
    within("sampling step", sample_s, "s", STEP_S, 1)
    times = [entry.time_s for entry in course]
    if not times or times[0] != 0 or times != sorted(times):
        raise OutOfRangeError(f"a course of settings must start at 0 s and rise, not {times}")
    for effort in efforts:
        zero_or_more("start of an effort", effort.start_s, "s")
        above_zero("length of an effort", effort.length_s, "s")


def _in_force(course: Sequence[From], time_s: float) -> CyclingSettings:
    return [entry for entry in course if entry.time_s <= time_s][-1].settings


def _muscle(efforts: Sequence[Effort], time_s: float) -> float:
    return sum(effort.pressure_cmh2o(time_s) for effort in efforts)


def _lung_resistance(settings: CyclingSettings, phase: Phase) -> float:
    inflating = phase is Phase.INFLATION
    lung_side = settings.inspiratory_resistance_cmh2o_s_l if inflating else settings.expiratory_resistance_cmh2o_s_l
    return max(lung_side, _LEAST_RESISTANCE)


def _gauge_terms(settings: CyclingSettings, phase: Phase) -> tuple[float, float]:
    """Give the inflow (L/s) at the airway opening at gauge zero, and the outflow per cmH2O, lung left out."""
    leak = settings.leak_conductance_l_s_cmh2o
    if phase is Phase.INFLATION:
        return settings.flow_l_s, leak
    throttle = 1 / settings.throttle_resistance_cmh2o_s_l
    return settings.outlet_pressure_cmh2o * throttle if throttle > 0 else 0.0, throttle + leak


def _step(settings: CyclingSettings, now: _Moment, efforts: Sequence[Effort], tubing_l: float) -> _Moment:
    """Advance one step: lung and gauge are two capacities joined by the airway, the gauge open to source or exhaust."""
    conductance = 1 / _lung_resistance(settings, now.phase)
    inflow, outflow = _gauge_terms(settings, now.phase)
    muscle = _muscle(efforts, now.time_s + STEP_S / 2)
    lung_gain = STEP_S / 2 * conductance / settings.compliance_l_cmh2o
    gauge_gain = STEP_S / 2 / tubing_l
    across = gauge_gain * conductance
    # Halfway values solve: lung (1 + a) - gauge a = lung0 + a muscle; gauge (1 + b + c) - lung b = gauge0 + ...
    left, right = now.lung + lung_gain * muscle, now.gauge + gauge_gain * inflow - across * muscle
    own = 1 + across + gauge_gain * outflow
    determinant = (1 + lung_gain) * own - lung_gain * across
    half_lung = (left * own + lung_gain * right) / determinant
    half_gauge = ((1 + lung_gain) * right + across * left) / determinant
    gauge = 2 * half_gauge - now.gauge
    return _Moment(
        time_s=now.time_s + STEP_S,
        lung=2 * half_lung - now.lung,
        gauge=gauge,
        phase=_next_phase(settings, now.phase, gauge),
    )


def _next_phase(settings: CyclingSettings, phase: Phase, gauge_cmh2o: float) -> Phase:
    if phase is Phase.INFLATION:
        return Phase.EXPIRATION if gauge_cmh2o >= settings.peak_cmh2o else phase
    return Phase.INFLATION if gauge_cmh2o <= settings.restart_cmh2o else phase


def _switch(settings: CyclingSettings, before: _Moment, after: _Moment) -> Switch:
    threshold = settings.peak_cmh2o if after.phase is Phase.EXPIRATION else settings.restart_cmh2o
    change = after.gauge - before.gauge
    share = min(1.0, max(0.0, (threshold - before.gauge) / change)) if change else 1.0
    lung = before.lung + share * (after.lung - before.lung)
    return Switch(
        time_s=before.time_s + share * STEP_S,
        into=after.phase,
        volume_ml=settings.compliance_l_cmh2o * lung * 1000,
    )


def _sample(settings: CyclingSettings, now: _Moment, efforts: Sequence[Effort]) -> Sample:
    across = now.gauge - now.lung + _muscle(efforts, now.time_s)
    return Sample(
        time_s=now.time_s,
        pressure_cmh2o=now.gauge,
        volume_ml=settings.compliance_l_cmh2o * now.lung * 1000,
        flow_l_min=across / _lung_resistance(settings, now.phase) * 60,
    )
