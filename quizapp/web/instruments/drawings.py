"""From a figure's parameters to its drawing: one function for each instrument, and the table that names them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from typing import Any

from quizapp.web.instruments.assembly import assembly
from quizapp.web.instruments.capnogram_points import capnogram_points, capnogram_strip
from quizapp.web.instruments.dial import Dial, dial
from quizapp.web.instruments.directions import CAUSES, DirectionTable, direction_table
from quizapp.web.instruments.emptying import emptying
from quizapp.web.instruments.figure import Figure, FigureError
from quizapp.web.instruments.flat_scale import FlatScale, flat_scale
from quizapp.web.instruments.flowmeter import Flowmeter, flowmeter
from quizapp.web.instruments.panels import bottles, knobs, monitor
from quizapp.web.instruments.plot import Plot
from quizapp.web.instruments.pressure_shapes import Breath, Course, pressure_points
from quizapp.web.instruments.scale import Scale
from quizapp.web.instruments.strips import co2_strip, pressure_strip
from quizapp.web.instruments.trend import trend

STRIP_S = 15.0
LEAD_S = 0.35


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """One kind of figure: how its drawing is made, the macro that draws it, and its usual title."""

    make: Callable[[Figure], Any]
    macro: str
    title: str


def pressure_gauge(figure: Figure) -> Dial:
    """Draw the airway-pressure gauge, with a second needle for the other end of its swing where one is given."""
    second = figure.maybe("second_needle_cmh2o")
    motion = figure.word("motion", "still" if second is None else "swing")
    needle = figure.number("needle_cmh2o", "value")
    return dial(_pressure_scale(figure), needle, "cmH2O", second, figure.maybe("relief_mark_cmh2o"), motion)


def gauge_swing(figure: Figure) -> Dial:
    """Draw the gauge between the two ends of its swing: `peak_cmh2o` and `baseline_cmh2o`, or two needles."""
    high, low = figure.number("peak_cmh2o", "needle_cmh2o"), figure.number("baseline_cmh2o", "second_needle_cmh2o")
    relief = figure.maybe("relief_mark_cmh2o")
    return dial(_pressure_scale(figure), high, "cmH2O", low, relief, figure.word("motion", "swing"))


def contents_gauge(figure: Figure) -> Dial:
    """Draw a cylinder's contents gauge."""
    return dial(_contents_scale(figure), figure.number("needle_bar", "value"), "bar")


def straight_scale(figure: Figure) -> FlatScale:
    """Draw the piece of the gauge's scale around the needle, laid straight, with what was written."""
    bar = figure.maybe("needle_bar")
    if bar is not None:
        return flat_scale(_contents_scale(figure), bar, figure.maybe("written"))
    return flat_scale(_pressure_scale(figure), figure.number("needle_cmh2o", "value"), figure.maybe("written"))


def flow_tube(figure: Figure) -> Flowmeter:
    """Draw the flowmeter."""
    return flowmeter(_scale(figure, "l_min", (0, 25, 1, 5)), figure.number("float_l_min", "value"), "L/min")


def pressure_trace(figure: Figure) -> Plot:
    """Draw airway pressure: sampled `points`, or a shape from its ends and times."""
    points = figure.points()
    if points:
        return pressure_strip(points, figure.given("strip_s", points[-1][0]), figure.alt)
    strip_s = figure.given("strip_s", STRIP_S)
    inflation_s, expiration_s = _times(figure)
    breath = Breath(
        peak_cmh2o=figure.number("peak_cmh2o"),
        baseline_cmh2o=figure.number("baseline_cmh2o"),
        inflation_s=inflation_s,
        expiration_s=expiration_s,
    )
    course = Course(
        shape=figure.word("shape", "normal"),
        breath=breath,
        strip_s=strip_s,
        lead_s=figure.given("lead_s", LEAD_S),
        change_at_s=figure.maybe("change_at_s"),
        later=_later(figure, breath),
        stall_cmh2o=figure.maybe("later_peak_cmh2o"),
    )
    return pressure_strip(pressure_points(course), strip_s, figure.alt)


def capnogram(figure: Figure) -> Plot:
    """Draw carbon dioxide: sampled `points`, or one of the model's shapes."""
    points = figure.points()
    if points:
        return co2_strip(points, figure.given("strip_s", points[-1][0]), figure.alt)
    strip_s, lead_s = figure.given("strip_s", STRIP_S), figure.given("lead_s", LEAD_S)
    inflation_s, expiration_s = _times(figure)
    strip = capnogram_strip(
        shape=figure.word("shape", "normal"),
        end_tidal_mmhg=figure.number("end_tidal_mmhg"),
        inflation_s=inflation_s,
        expiration_s=expiration_s,
        baseline_mmhg=figure.given("baseline_mmhg", figure.given("baseline_cmh2o", 0.0)),
        shoulder_mmhg=figure.given("shoulder_mmhg", 0.0),
        first_late_breath=_first_late_breath(figure, inflation_s + expiration_s, lead_s),
    )
    return co2_strip(capnogram_points(strip, strip_s, lead_s), strip_s, figure.alt)


def trends(figure: Figure) -> tuple[Plot, ...]:
    """Draw the four trends."""
    names = ("rate_per_min", "peak_cmh2o", "end_tidal_mmhg", "saturation_percent")
    series = {name: figure.series(name) for name in names if figure.series(name)}
    return trend(series, figure.series("minutes"))


def emptying_curve(figure: Figure) -> Plot:
    """Draw the volume left in the lung against time."""
    return emptying(
        volume_ml=figure.number("volume_ml"),
        time_constant_s=figure.number("time_constant_s"),
        expiration_s=figure.number("expiration_s"),
        description=figure.alt,
    )


def control_panel(figure: Figure) -> Any:
    """Draw the four controls."""
    return knobs(
        flow_l_min=figure.number("flow_l_min"),
        peak_cmh2o=figure.number("peak_cmh2o"),
        rate_control_fraction=figure.number("rate_control_fraction"),
        oxygen_fraction=figure.number("oxygen_fraction"),
        highest=(figure.given("flow_end_l_min", 25), figure.given("peak_end_cmh2o", 50)),
    )


def monitor_panel(figure: Figure) -> Any:
    """Draw the numbers of a monitor."""
    names = ("pulse_per_min", "saturation_percent", "end_tidal_mmhg", "systolic_mmhg", "diastolic_mmhg")
    values = {name: value for name in names if (value := figure.maybe(name)) is not None}
    return monitor(values, figure.word("pulse_wave", "present"))


def cylinder_row(figure: Figure) -> Any:
    """Draw cylinders side by side."""
    return bottles(figure.series("water_l"), figure.series("pressure_bar"), figure.given("full_bar", 200))


def directions(figure: Figure) -> DirectionTable:
    """Draw the table of what was changed which way, and of what is asked."""
    ways = {name: way for name, _ in CAUSES if (way := figure.maybe(name)) is not None}
    return direction_table(ways, figure.number("asked"))


def breathing_system(figure: Figure) -> Any:
    """Draw the assembled breathing system with one fault or none."""
    return assembly(figure.word("fault", "none"))


def _pressure_scale(figure: Figure) -> Scale:
    return _scale(figure, "cmh2o", (-10, 60, 2, 10))


def _contents_scale(figure: Figure) -> Scale:
    return _scale(figure, "bar", (0, 240, 10, 50))


def _scale(figure: Figure, unit: str, usual: tuple[float, float, float, float]) -> Scale:
    low, high, minor, major = (
        figure.given(f"{name}_{unit}", figure.given(name, default))
        for name, default in zip(("low", "high", "minor", "major"), usual, strict=True)
    )
    return Scale(low=low, high=high, minor=minor, major=major)


def _times(figure: Figure) -> tuple[float, float]:
    """Times given, or a rate (per min) with the x of 1:x."""
    rate, parts = figure.maybe("rate_per_min", "rate"), figure.maybe("expiration_parts", "ratio")
    if rate is not None and parts is not None:
        return 60 / rate / (1 + parts), 60 / rate * parts / (1 + parts)
    return figure.number("inflation_s"), figure.number("expiration_s")


def _later(figure: Figure, breath: Breath) -> Breath | None:
    if figure.maybe("later_peak_cmh2o", "later_inflation_s", "later_expiration_s") is None:
        return None
    return Breath(
        peak_cmh2o=figure.given("later_peak_cmh2o", breath.peak_cmh2o),
        baseline_cmh2o=breath.baseline_cmh2o,
        inflation_s=figure.given("later_inflation_s", breath.inflation_s),
        expiration_s=figure.given("later_expiration_s", breath.expiration_s),
    )


def _first_late_breath(figure: Figure, cycle_s: float, lead_s: float) -> int:
    """The model counts breaths from before the strip when the first inflation comes after some lead."""
    before = 1 if lead_s > 0 else 0
    change = figure.maybe("change_at_s")
    return before + (2 if change is None else max(0, ceil((change - lead_s) / cycle_s - 1e-9)))


_GAUGE = Instrument(make=pressure_gauge, macro="dial", title="Airway-pressure gauge")
_TRACE = Instrument(make=pressure_trace, macro="strip", title="Airway pressure against time")
_EMPTYING = Instrument(make=emptying_curve, macro="strip", title="Volume still in the lung")
INSTRUMENTS = {
    "airway-pressure-gauge": _GAUGE,
    "pressure-gauge": _GAUGE,
    "gauge-swing": Instrument(make=gauge_swing, macro="dial", title="Airway-pressure gauge, swinging"),
    "flat-scale": Instrument(make=straight_scale, macro="flat", title="The scale laid straight"),
    "contents-gauge": Instrument(make=contents_gauge, macro="dial", title="Contents gauge of the cylinder"),
    "flowmeter": Instrument(make=flow_tube, macro="tube", title="Flowmeter"),
    "pressure-time-trace": _TRACE,
    "pressure-trace": _TRACE,
    "capnogram": Instrument(make=capnogram, macro="strip", title="Carbon dioxide against time"),
    "trend": Instrument(make=trends, macro="trend", title="Trends"),
    "emptying-curve": _EMPTYING,
    "volume-curve": _EMPTYING,
    "controls": Instrument(make=control_panel, macro="controls", title="The controls of the device"),
    "monitor": Instrument(make=monitor_panel, macro="monitor", title="Patient monitor"),
    "cylinders": Instrument(make=cylinder_row, macro="cylinders", title="Cylinders"),
    "direction-table": Instrument(make=directions, macro="direction_table", title="Which way each goes"),
    "assembly": Instrument(make=breathing_system, macro="assembly", title="The assembled breathing system"),
}


def draw(figure: Figure) -> tuple[Instrument, Any]:
    """Return the instrument and its drawing; raises FigureError for an unknown one or one that cannot be drawn."""
    instrument = INSTRUMENTS.get(figure.instrument)
    if instrument is None:
        raise FigureError(f"{figure.instrument!r} is not an instrument; there are {', '.join(sorted(INSTRUMENTS))}")
    try:
        return instrument, instrument.make(figure)
    except ValueError as fault:
        raise FigureError(f"{figure.instrument}: {fault}") from fault
