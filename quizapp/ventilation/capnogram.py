"""Carbon dioxide at the airway over time, in the shapes a clinician must know by sight.

Drawn, not simulated: phase 0 (inflation), I (dead-space gas), II (rise), III (plateau up to the end-tidal value).
Shapes after open anaesthesia teaching on capnogram waveforms; proportions are our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from quizapp.ventilation.ranges import above_zero, within, zero_or_more
from quizapp.ventilation.timing import cycle_time_s, inflation_from_ratio_s

LONGEST_S = 600.0


class CapnogramShape(StrEnum):
    """The shapes; one shape can have more than one cause."""

    NORMAL = "normal"
    RISING_PLATEAU = "rising plateau"
    NOTCHED_PLATEAU = "notch in the plateau"
    RAISED_BASELINE = "raised baseline"
    SLANTED_FALL = "early slanted fall"
    CUT_OFF_PLATEAU = "cut-off plateau"
    TERMINAL_DIP = "dip at the end of the plateau"
    SUDDEN_LOSS = "sudden loss"
    SHRINKING_HUMPS = "a few shrinking humps"
    FADING = "height fading over breaths"
    CLIMBING = "slow climb"
    SINKING = "slow fall with a flat top"


class Course(StrEnum):
    """How the height changes from breath to breath once the trouble begins."""

    STEADY = "steady"
    LOST = "lost"
    HUMPS = "humps"
    FADING = "fading"
    CLIMBING = "climbing"
    SINKING = "sinking"


@dataclass(frozen=True, kw_only=True)
class _Outline:
    """One breath in shares of expiration and of the end-tidal height; `fall_s` is the downstroke in s."""

    dead_share: float = 0.08
    rise_share: float = 0.12
    shoulder: float = 0.94
    ends_share: float = 1.0
    fall_s: float = 0.15
    notch_depth: float = 0.0
    dip_depth: float = 0.0
    course: Course = Course.STEADY


_OUTLINES = {
    CapnogramShape.NORMAL: _Outline(),
    CapnogramShape.RISING_PLATEAU: _Outline(rise_share=0.45, shoulder=0.62),
    CapnogramShape.NOTCHED_PLATEAU: _Outline(notch_depth=0.4),
    CapnogramShape.RAISED_BASELINE: _Outline(),
    CapnogramShape.SLANTED_FALL: _Outline(ends_share=0.55, fall_s=0.9),
    CapnogramShape.CUT_OFF_PLATEAU: _Outline(ends_share=0.45),
    CapnogramShape.TERMINAL_DIP: _Outline(dip_depth=0.35),
    CapnogramShape.SUDDEN_LOSS: _Outline(course=Course.LOST),
    CapnogramShape.SHRINKING_HUMPS: _Outline(rise_share=0.3, shoulder=0.8, ends_share=0.7, course=Course.HUMPS),
    CapnogramShape.FADING: _Outline(course=Course.FADING),
    CapnogramShape.CLIMBING: _Outline(course=Course.CLIMBING),
    CapnogramShape.SINKING: _Outline(course=Course.SINKING),
}
_HUMPS = (0.35, 0.2, 0.1, 0.04)
_FADE_PER_BREATH, _CLIMB_PER_BREATH, _SINK_PER_BREATH, _LOWEST_SINK = 0.7, 0.05, 0.04, 0.5
_NOTCH_AT, _NOTCH_HALF_WIDTH, _DIP_FROM = 0.62, 0.09, 0.85


@dataclass(frozen=True, kw_only=True)
class Capnogram:
    """Samples of s and mmHg, and the highest value of each breath that ends within the strip, in mmHg."""

    times_s: tuple[float, ...]
    co2_mmhg: tuple[float, ...]
    breath_tops_mmhg: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Strip:
    """What is drawn: shape, end-tidal and baseline values in mmHg, and the timing of the breaths.

    end_tidal_mmhg: above the baseline, up to 150. baseline_mmhg: 0 or more; above 0 for a raised baseline.
    rate_per_min: above 0. expiration_parts: x of 1:x, above 0. onset_breath: the first breath (from 0) in which a
    changing shape changes. shoulder_fraction: height of the start of the plateau, None for the shape's own.
    """

    shape: CapnogramShape
    end_tidal_mmhg: float
    rate_per_min: float
    expiration_parts: float
    baseline_mmhg: float = 0.0
    onset_breath: int = 2
    shoulder_fraction: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn; raises OutOfRangeError."""
        zero_or_more("baseline", self.baseline_mmhg, "mmHg")
        if self.shape is CapnogramShape.RAISED_BASELINE:
            above_zero("baseline of a raised baseline", self.baseline_mmhg, "mmHg")
        above_zero("end-tidal less baseline", self.end_tidal_mmhg - self.baseline_mmhg, "mmHg")
        within("end-tidal", self.end_tidal_mmhg, "mmHg", 0, 150)
        cycle_time_s(self.rate_per_min)
        above_zero("expiratory parts", self.expiration_parts, "")
        zero_or_more("onset breath", self.onset_breath, "")
        if self.shoulder_fraction is not None:
            within("shoulder", self.shoulder_fraction, "", 0.1, 1)

    @property
    def inflation_s(self) -> float:
        """Length of phase 0 in s."""
        return inflation_from_ratio_s(self.rate_per_min, self.expiration_parts)


def capnogram(strip: Strip, duration_s: float, step_s: float = 0.02) -> Capnogram:
    """Give the samples of a strip that starts with an inflation.

    duration_s: above 0 up to 600. step_s: above 0. The end of a normal plateau is the end-tidal value exactly, and is
    always a sample. Raises OutOfRangeError.
    """
    within("duration", above_zero("duration", duration_s, "s"), "s", 0, LONGEST_S)
    above_zero("step", step_s, "s")
    cycle = cycle_time_s(strip.rate_per_min)
    breaths = math.floor(duration_s / cycle + 1e-9)
    moments = {number * step_s for number in range(math.floor(duration_s / step_s + 1e-9) + 1)}
    moments |= {number * cycle for number in range(1, breaths + 1)}
    times = tuple(sorted(moments))
    return Capnogram(
        times_s=times,
        co2_mmhg=tuple(co2_mmhg(strip, moment) for moment in times),
        breath_tops_mmhg=tuple(strip.baseline_mmhg + _height_mmhg(strip, number) for number in range(breaths)),
    )


def co2_mmhg(strip: Strip, time_s: float) -> float:
    """Give the CO2 in mmHg at a moment (s, 0 or more) of a strip; the last moment of a breath is its end-tidal one."""
    zero_or_more("time", time_s, "s")
    cycle = cycle_time_s(strip.rate_per_min)
    breath = max(0, math.ceil(time_s / cycle - 1e-9) - 1)
    into = min(max(time_s - breath * cycle, 0.0), cycle)
    if into <= strip.inflation_s:
        share = _tail_share(strip, into, cycle)
        height = _height_mmhg(strip, breath - 1)
    else:
        share = _expired_share(strip, (into - strip.inflation_s) / (cycle - strip.inflation_s), cycle)
        height = _height_mmhg(strip, breath)
    return strip.baseline_mmhg + share * height


def _tail_share(strip: Strip, into_s: float, cycle_s: float) -> float:
    """Give what is left of the last breath's height some seconds into an inflation."""
    outline = _OUTLINES[strip.shape]
    end = _expired_share(strip, 1.0, cycle_s)
    return end * (1 - _smooth(into_s / min(outline.fall_s, strip.inflation_s)))


def _expired_share(strip: Strip, share: float, cycle_s: float) -> float:
    """Give the share of the end-tidal height at a share (0 to 1) of expiration."""
    outline = _OUTLINES[strip.shape]
    shoulder = outline.shoulder if strip.shoulder_fraction is None else strip.shoulder_fraction
    rise_ends = outline.dead_share + outline.rise_share
    if share < rise_ends:
        return shoulder * _smooth((share - outline.dead_share) / outline.rise_share)
    until = outline.ends_share
    level = shoulder + (1 - shoulder) * min(1.0, (share - rise_ends) / (until - rise_ends))
    if share > until:
        fall = outline.fall_s / (cycle_s - strip.inflation_s)
        return level * (1 - _smooth((share - until) / fall))
    return level * _dent(outline, share)


def _dent(outline: _Outline, share: float) -> float:
    notch = max(0.0, 1 - abs(share - _NOTCH_AT) / _NOTCH_HALF_WIDTH) * outline.notch_depth
    return 1 - notch - outline.dip_depth * _smooth((share - _DIP_FROM) / (1 - _DIP_FROM))


def _height_mmhg(strip: Strip, breath: int) -> float:
    """Give the height of a breath's plateau above the baseline."""
    full = strip.end_tidal_mmhg - strip.baseline_mmhg
    late = breath - strip.onset_breath
    if late < 0:
        return full
    return full * _course_factor(_OUTLINES[strip.shape].course, late)


def _course_factor(course: Course, late: int) -> float:
    match course:
        case Course.STEADY:
            return 1.0
        case Course.LOST:
            return 0.0
        case Course.HUMPS:
            return _HUMPS[late] if late < len(_HUMPS) else 0.0
        case Course.FADING:
            return float(_FADE_PER_BREATH ** (late + 1))
        case Course.CLIMBING:
            return 1 + _CLIMB_PER_BREATH * (late + 1)
        case Course.SINKING:
            return max(_LOWEST_SINK, 1 - _SINK_PER_BREATH * (late + 1))


def _smooth(share: float) -> float:
    """Give a smooth step from 0 at 0 to 1 at 1, flat outside."""
    inside = min(1.0, max(0.0, share))
    return inside * inside * (3 - 2 * inside)
