"""The instruments and charts a question can show, with the numbers and words each needs.

A number left out takes its default, a formula over the profile; so every figure carries its own scale once frozen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from quizapp.assessment.questions import FigureSpec


@dataclass(frozen=True, kw_only=True)
class FigureKind:
    """One instrument: needed numbers, defaults of others, optional ones, and words with their allowed values.

    `within` names numbers that must lie on the scale between two others. An empty tuple of words allows any text.
    """

    shows: str
    needs: tuple[str, ...] = ()
    defaults: Mapping[str, str] = field(default_factory=dict)
    optional: tuple[str, ...] = ()
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    within: tuple[tuple[str, str, str], ...] = ()
    series: tuple[str, ...] = ()

    @property
    def all_numbers(self) -> frozenset[str]:
        """Every number the figure may be given."""
        return frozenset((*self.needs, *self.defaults, *self.optional))


_PRESSURE_SCALE = {
    "low_cmh2o": "profile.gauge_low_cmh2o",
    "high_cmh2o": "profile.gauge_high_cmh2o",
    "minor_cmh2o": "profile.gauge_minor_cmh2o",
    "major_cmh2o": "profile.gauge_major_cmh2o",
}
_CONTENTS_SCALE = {
    "low_bar": "profile.contents_low_bar",
    "high_bar": "profile.contents_high_bar",
    "minor_bar": "profile.contents_minor_bar",
    "major_bar": "profile.contents_major_bar",
}
GAUGE_MOTIONS = ("still", "swing", "parked", "flutter", "slow_climb", "short_fast")
CAPNOGRAM_SHAPES = (
    *("normal", "rising_plateau", "notch", "raised_baseline", "abrupt_loss", "decay", "slow_climb", "slow_fall"),
    "terminal_dip",
)
PRESSURE_SHAPES = ("normal", "leak", "kink", "effort", "stacking", "stalled_inflation", "stalled_expiration")
ASSEMBLY_FAULTS = ("none", "open_joint", "filter_wrong_side", "open_gauge_port", "restraint_left", "tube_under_strap")

FIGURE_KINDS: dict[str, FigureKind] = {
    "pressure_gauge": FigureKind(
        shows="the airway-pressure gauge with its needle, and if given a second needle and the relief mark",
        needs=("needle_cmh2o",),
        defaults=_PRESSURE_SCALE,
        optional=("second_needle_cmh2o", "relief_mark_cmh2o"),
        words={"motion": GAUGE_MOTIONS, "caption": ()},
        within=(
            ("needle_cmh2o", "low_cmh2o", "high_cmh2o"),
            ("second_needle_cmh2o", "low_cmh2o", "high_cmh2o"),
            ("relief_mark_cmh2o", "low_cmh2o", "high_cmh2o"),
        ),
    ),
    "contents_gauge": FigureKind(
        shows="the contents gauge of a cylinder",
        needs=("needle_bar",),
        defaults=_CONTENTS_SCALE,
        words={"caption": ()},
        within=(("needle_bar", "low_bar", "high_bar"),),
    ),
    "flowmeter": FigureKind(
        shows="a flowmeter tube with its ball",
        needs=("float_l_min",),
        defaults={"low_l_min": "0", "high_l_min": "25", "minor_l_min": "1", "major_l_min": "5"},
        words={"caption": ()},
        within=(("float_l_min", "low_l_min", "high_l_min"),),
    ),
    "pressure_trace": FigureKind(
        shows="airway pressure against time on squared paper",
        needs=("peak_cmh2o", "baseline_cmh2o", "inflation_s", "expiration_s"),
        defaults={"strip_s": "15"},
        optional=("lead_s", "change_at_s", "later_peak_cmh2o", "later_inflation_s", "later_expiration_s"),
        words={"shape": PRESSURE_SHAPES, "caption": ()},
    ),
    "capnogram": FigureKind(
        shows="carbon dioxide against time on squared paper",
        needs=("end_tidal_mmhg", "inflation_s", "expiration_s"),
        defaults={"strip_s": "15", "baseline_mmhg": "0", "shoulder_mmhg": "0"},
        optional=("lead_s", "change_at_s"),
        words={"shape": CAPNOGRAM_SHAPES, "caption": ()},
    ),
    "volume_curve": FigureKind(
        shows="the volume still in the lung against time in one expiration",
        needs=("volume_ml", "time_constant_s", "expiration_s"),
        words={"caption": ()},
    ),
    "trend": FigureKind(
        shows="one value a minute of rate, peak, end-tidal carbon dioxide and saturation",
        needs=("rate_per_min", "peak_cmh2o", "end_tidal_mmhg", "saturation_percent"),
        optional=("minutes",),
        words={"caption": ()},
        series=("rate_per_min", "peak_cmh2o", "end_tidal_mmhg", "saturation_percent", "minutes"),
    ),
    "controls": FigureKind(
        shows="the settings of the device: flow, peak, rate control (0 open to 1 shut) and oxygen fraction",
        needs=("flow_l_min", "peak_cmh2o", "rate_control_fraction", "oxygen_fraction"),
        defaults={"flow_end_l_min": "profile.working_flow_max_l_min", "peak_end_cmh2o": "profile.peak_max_cmh2o"},
        words={"caption": ()},
    ),
    "monitor": FigureKind(
        shows="the numbers of a patient monitor; what is left out shows as missing",
        optional=("pulse_per_min", "saturation_percent", "end_tidal_mmhg", "systolic_mmhg", "diastolic_mmhg"),
        words={"pulse_wave": ("present", "absent"), "caption": ()},
    ),
    "cylinders": FigureKind(
        shows="one or more cylinders with water volume and pressure",
        needs=("water_l", "pressure_bar"),
        defaults={"full_bar": "200"},
        words={"caption": ()},
        series=("water_l", "pressure_bar"),
    ),
    "direction_table": FigureKind(
        shows="what was changed and which way (-1 down, 0 as it was, 1 up), and which result is asked about (1 to 6)",
        needs=("asked",),
        defaults={
            "flow_direction": "0",
            "peak_direction": "0",
            "rate_control_direction": "0",
            "mix_direction": "0",
            "compliance_direction": "0",
            "resistance_direction": "0",
        },
        words={"caption": ()},
    ),
    "assembly": FigureKind(
        shows="a line drawing of the assembled breathing system, with one fault or none",
        words={"fault": ASSEMBLY_FAULTS, "caption": ()},
    ),
}


def declared_faults(instrument: str, numbers: Mapping[str, int], words: Mapping[str, str | None]) -> list[str]:
    """Return what is wrong with a declared figure: `numbers` gives the length of each, `words` a fixed text or None."""
    kind = FIGURE_KINDS.get(instrument)
    if kind is None:
        return [f'"{instrument}" is not an instrument; there are {", ".join(sorted(FIGURE_KINDS))}']
    faults = [f"the number {name} is needed and is not there" for name in kind.needs if name not in numbers]
    faults += [f"{name} is not a number of {instrument}" for name in numbers if name not in kind.all_numbers]
    faults += [f"{name} is not a word of {instrument}" for name in words if name not in kind.words]
    faults += [
        f"{name} takes one number, not {length}"
        for name, length in numbers.items()
        if length != 1 and name not in kind.series
    ]
    return faults + [fault for name, word in words.items() if word is not None for fault in _word(kind, name, word)]


def figure_faults(figure: FigureSpec) -> list[str]:
    """Return what is wrong with a drawn figure: a needle off the scale, or a word without a drawing."""
    kind = FIGURE_KINDS[figure.instrument]
    faults = [fault for name, word in figure.words.items() for fault in _word(kind, name, word)]
    for name, low, high in kind.within:
        if name in figure.numbers and not figure.number(low) <= figure.number(name) <= figure.number(high):
            faults.append(f"{name} is {figure.number(name)}, off the scale")
    faults += [f"{name} is {value}" for name, value in _durations(figure) if value <= 0]
    return faults


def _word(kind: FigureKind, name: str, word: str) -> list[str]:
    allowed = kind.words.get(name, ())
    return [f"{name} is {word!r}; there are {', '.join(allowed)}"] if allowed and word not in allowed else []


def _durations(figure: FigureSpec) -> list[tuple[str, Decimal]]:
    return [(name, series[0]) for name, series in figure.numbers.items() if name.endswith("_s") and name != "lead_s"]
