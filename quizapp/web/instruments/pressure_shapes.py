"""Airway pressure of a pressure-cycled device drawn from its ends and times: a picture of the shape, not a simulation.

Inflation: a step at the onset, then a ramp to the peak. Expiration: an exponential fall that meets the baseline just
when the next inflation starts, as the model's does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from quizapp.web.instruments.plot import Point

STEP_S = 0.02
ONSET_S = 0.04
SHARE_OF_ONSET = 0.16
EFFORT_DIP_CMH2O = 2.0
EFFORT_S = 0.25


@dataclass(frozen=True, kw_only=True)
class Breath:
    """One breath: ends in cmH2O, times in s."""

    peak_cmh2o: float
    baseline_cmh2o: float
    inflation_s: float
    expiration_s: float

    def __post_init__(self) -> None:
        """Refuse a breath that cannot be drawn; raises ValueError."""
        if self.peak_cmh2o <= self.baseline_cmh2o or self.inflation_s <= 0 or self.expiration_s <= 0:
            raise ValueError("a breath needs a peak above its baseline and two times above zero")

    @property
    def cycle_s(self) -> float:
        """Length of the whole breath in s."""
        return self.inflation_s + self.expiration_s

    @property
    def swing_cmh2o(self) -> float:
        """Peak less baseline."""
        return self.peak_cmh2o - self.baseline_cmh2o


@dataclass(frozen=True, kw_only=True)
class Course:
    """What is drawn: first breaths, and from `change_at_s` on later ones or a stall.

    The first inflation begins `lead_s` into the strip, after the end of a breath that began before it.
    """

    shape: str
    breath: Breath
    strip_s: float
    lead_s: float = 0.35
    change_at_s: float | None = None
    later: Breath | None = None
    stall_cmh2o: float | None = None


def pressure_points(course: Course) -> list[Point]:
    """Return the samples (s, cmH2O) of a strip; both ends of every ramp are samples, so the drawn peak is the true one.

    Raises ValueError for a shape that has no drawing.
    """
    if course.shape not in RISES and course.shape not in STALLS:
        raise ValueError(f"{course.shape!r} is not a shape of a pressure trace")
    points: list[Point] = []
    began = course.lead_s - math.ceil(course.lead_s / course.breath.cycle_s) * course.breath.cycle_s
    while began < course.strip_s:
        breath = course.later if course.later is not None and _is_late(course, began) else course.breath
        if course.shape in STALLS and _is_late(course, began):
            points += STALLS[course.shape](course, began)
            break
        points += _one_breath(course.shape, breath, began)
        began += breath.cycle_s
    return _cut(points, course.strip_s)


def _is_late(course: Course, began_s: float) -> bool:
    change = course.change_at_s
    if change is None:
        change = course.strip_s / 3 if course.shape in STALLS else math.inf
    return began_s >= change


def _one_breath(shape: str, breath: Breath, began_s: float) -> list[Point]:
    rise, fall = RISES.get(shape, RISES["normal"])
    points = [(began_s + at, rise(breath, at)) for at in _moments(breath.inflation_s)]
    ends = began_s + breath.inflation_s
    return points + [(ends + at, fall(breath, at)) for at in _moments(breath.expiration_s)]


def _ramp(share_of_onset: float, bend: Callable[[float], float]) -> Callable[[Breath, float], float]:
    """A rise with a step at the onset; `bend` maps 0..1 of the time to 0..1 of the height."""

    def rise(breath: Breath, at_s: float) -> float:
        onset = min(ONSET_S, breath.inflation_s / 4)
        if at_s < onset:
            return breath.baseline_cmh2o + share_of_onset * breath.swing_cmh2o * at_s / onset
        share = bend((at_s - onset) / (breath.inflation_s - onset))
        return breath.baseline_cmh2o + breath.swing_cmh2o * (share_of_onset + (1 - share_of_onset) * share)

    return rise


def _fall(breath: Breath, at_s: float) -> float:
    if breath.baseline_cmh2o > 0:
        share = math.log(breath.peak_cmh2o / breath.baseline_cmh2o) * at_s / breath.expiration_s
        return breath.peak_cmh2o * math.exp(-share)
    return breath.baseline_cmh2o + breath.swing_cmh2o * math.exp(-5 * at_s / breath.expiration_s)


def _drop(breath: Breath, at_s: float) -> float:
    """What a blocked way leaves: the pressure is gone at once, since no gas comes back."""
    return breath.baseline_cmh2o + breath.swing_cmh2o * math.exp(-at_s / 0.05)


def _fall_with_effort(breath: Breath, at_s: float) -> float:
    left = breath.expiration_s - at_s
    dip = EFFORT_DIP_CMH2O * (1 - left / EFFORT_S) if left < EFFORT_S else 0.0
    return _fall(breath, at_s) - dip


RISES: dict[str, tuple[Callable[[Breath, float], float], Callable[[Breath, float], float]]] = {
    "normal": (_ramp(SHARE_OF_ONSET, lambda share: share), _fall),
    "leak": (_ramp(SHARE_OF_ONSET, lambda share: (1 - math.exp(-3 * share)) / (1 - math.exp(-3))), _fall),
    "kink": (_ramp(0.85, lambda share: share), _drop),
    "effort": (_ramp(0.0, lambda share: share * share), _fall_with_effort),
    "stacking": (_ramp(0.5, lambda share: share), _fall),
}


def _stall_in_inflation(course: Course, began_s: float) -> list[Point]:
    breath = course.breath
    level = breath.baseline_cmh2o + 0.6 * breath.swing_cmh2o if course.stall_cmh2o is None else course.stall_cmh2o
    rising = replace(breath, peak_cmh2o=level)
    rise = RISES["leak"][0]
    points = [(began_s + at, rise(rising, at)) for at in _moments(breath.inflation_s)]
    return [*points, (max(course.strip_s, points[-1][0]), level)]


def _stall_in_expiration(course: Course, began_s: float) -> list[Point]:
    breath = course.breath
    level = breath.baseline_cmh2o + 0.15 * breath.swing_cmh2o if course.stall_cmh2o is None else course.stall_cmh2o
    points = [(began_s + at, RISES["normal"][0](breath, at)) for at in _moments(breath.inflation_s)]
    ends, tau = points[-1][0], breath.expiration_s / 4
    length = max(course.strip_s - ends, STEP_S)
    fall = [(ends + at, level + (breath.peak_cmh2o - level) * math.exp(-at / tau)) for at in _moments(length)]
    return points + fall


STALLS: dict[str, Callable[[Course, float], list[Point]]] = {
    "stalled_inflation": _stall_in_inflation,
    "stalled_expiration": _stall_in_expiration,
}


def _moments(length_s: float) -> list[float]:
    count = math.floor(length_s / STEP_S + 1e-9)
    inner = [number * STEP_S for number in range(count + 1) if length_s - number * STEP_S > 1e-6]
    return [*inner, length_s]


def _cut(points: list[Point], strip_s: float) -> list[Point]:
    """Keep what lies on the strip, with points at its very start and end."""
    kept = [point for point in points if -1e-9 <= point[0] <= strip_s + 1e-9]
    before = [point for point in points if point[0] < -1e-9]
    beyond = next((point for point in points if point[0] > strip_s + 1e-9), None)
    first = [_between(before[-1], kept[0], 0.0)] if before and kept[0][0] > 1e-9 else []
    last = [] if beyond is None else [_between(kept[-1], beyond, strip_s)]
    return [*first, *kept, *last]


def _between(earlier: Point, later: Point, at_s: float) -> Point:
    (t0, v0), (t1, v1) = earlier, later
    return (at_s, v0 + (v1 - v0) * (at_s - t0) / (t1 - t0)) if t1 > t0 else (at_s, v1)
