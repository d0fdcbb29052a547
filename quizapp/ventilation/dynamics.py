"""The same device and lung stepped through time: for changing settings, a patient who moves, and soft tubing.

Each step is the exact solution of a linear circuit with the muscle held at its value in the middle of the step; the
moment of switching is found inside the step. Where the lung is passive and the tubing stiff it is the closed form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

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
    while now.time_s < duration_s - STEP_S / 2:
        settings = _in_force(course, now.time_s)
        if now.time_s - last_kept >= sample_s - STEP_S / 2:
            samples.append(_sample(settings, now, efforts))
            last_kept = now.time_s
        after = _step(settings, now, efforts, tubing_ml_cmh2o / 1000)
        if after.phase is not now.phase:
            switches.append(_switch(settings, after))
            samples.append(_sample(settings, after, efforts))
        now = after
    samples.append(_sample(_in_force(course, now.time_s), now, efforts))
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
    """Advance one step, or up to the moment in it at which the gauge meets the threshold of the phase."""
    muscle = _muscle(efforts, now.time_s + STEP_S / 2)
    after = _advance(settings, now, muscle, tubing_l, STEP_S)
    if not _met(settings, after):
        return after
    low, high = 0.0, STEP_S
    for _ in range(30):
        middle = (low + high) / 2
        if _met(settings, _advance(settings, now, muscle, tubing_l, middle)):
            high = middle
        else:
            low = middle
    turned = Phase.EXPIRATION if now.phase is Phase.INFLATION else Phase.INFLATION
    return replace(_advance(settings, now, muscle, tubing_l, high), phase=turned)


def _met(settings: CyclingSettings, now: _Moment) -> bool:
    """Say whether the gauge has met the pressure that ends its phase."""
    if now.phase is Phase.INFLATION:
        return now.gauge >= settings.peak_cmh2o
    return now.gauge <= settings.restart_cmh2o


def _advance(settings: CyclingSettings, now: _Moment, muscle: float, tubing_l: float, length_s: float) -> _Moment:
    """Solve lung and gauge, two capacities joined by the airway, for a length of time: x + h f(Ah)(Ax + b).

    f(z) = (e^z - 1)/z of the 2 x 2 matrix A by its two eigenvalues, which are real and never equal.
    """
    airway = 1 / _lung_resistance(settings, now.phase)
    inflow, outflow = _gauge_terms(settings, now.phase)
    into_lung = airway * (now.gauge - now.lung + muscle)
    lung_slope = into_lung / settings.compliance_l_cmh2o
    gauge_slope = (inflow - outflow * now.gauge - into_lung) / tubing_l
    lung_gain, across = airway / settings.compliance_l_cmh2o, airway / tubing_l
    own = across + outflow / tubing_l
    spread = math.sqrt((own - lung_gain) ** 2 + 4 * lung_gain * across)
    slow, fast = (-(lung_gain + own) + spread) / 2, (-(lung_gain + own) - spread) / 2
    slow_part, fast_part = _mean_decay(slow * length_s), _mean_decay(fast * length_s)
    bend = (slow_part - fast_part) / spread
    lung_change = slow_part * lung_slope + bend * ((-lung_gain - slow) * lung_slope + lung_gain * gauge_slope)
    gauge_change = slow_part * gauge_slope + bend * (across * lung_slope + (-own - slow) * gauge_slope)
    return replace(
        now,
        time_s=now.time_s + length_s,
        lung=now.lung + length_s * lung_change,
        gauge=now.gauge + length_s * gauge_change,
    )


def _mean_decay(exponent: float) -> float:
    return math.expm1(exponent) / exponent if exponent else 1.0


def _switch(settings: CyclingSettings, now: _Moment) -> Switch:
    return Switch(time_s=now.time_s, into=now.phase, volume_ml=settings.compliance_l_cmh2o * now.lung * 1000)


def _sample(settings: CyclingSettings, now: _Moment, efforts: Sequence[Effort]) -> Sample:
    across = now.gauge - now.lung + _muscle(efforts, now.time_s)
    return Sample(
        time_s=now.time_s,
        pressure_cmh2o=now.gauge,
        volume_ml=settings.compliance_l_cmh2o * now.lung * 1000,
        flow_l_min=across / _lung_resistance(settings, now.phase) * 60,
    )
