"""Pictures of things with settings: the device's controls, a patient monitor, cylinders."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import cos, radians, sin

from quizapp.web.instruments.dial import START_DEGREES, SWEEP_DEGREES
from quizapp.web.instruments.written import coordinate

KNOB_RADIUS = 38
TALLEST, NARROWEST = 150.0, 26.0


@dataclass(frozen=True, kw_only=True)
class Knob:
    """One control: its name, where it points, and its setting in words."""

    name: str
    pointer: str
    setting: str


@dataclass(frozen=True, kw_only=True)
class Vital:
    """One number of a monitor; `is_missing` shows dashes and says so."""

    name: str
    value: str
    unit: str
    is_missing: bool


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """One cylinder: its body and how far it is filled, standing on a floor at 170."""

    x: str
    width: str
    top: str
    height: str
    fill_top: str
    fill_height: str
    words: str


def knobs(
    *,
    flow_l_min: float,
    peak_cmh2o: float,
    rate_control_fraction: float,
    oxygen_fraction: float,
    highest: Sequence[float],
) -> tuple[Knob, ...]:
    """Return the four controls; `highest` are the ends of flow (L/min) and peak (cmH2O). Fractions run from 0 to 1."""
    flow_end, peak_end = highest
    return (
        Knob(name="Flow", pointer=_pointer(flow_l_min / flow_end), setting=f"{flow_l_min:g} L/min"),
        Knob(name="Peak", pointer=_pointer(peak_cmh2o / peak_end), setting=f"{peak_cmh2o:g} cmH2O"),
        Knob(
            name="Rate control",
            pointer=_pointer(rate_control_fraction),
            setting=rate_control_words(rate_control_fraction),
        ),
        Knob(
            name="Oxygen", pointer=_pointer((oxygen_fraction - 0.21) / 0.79), setting=f"{oxygen_fraction * 100:.0f} %"
        ),
    )


def rate_control_words(fraction: float) -> str:
    """Say how far the rate control is shut, in eighths of its way: open, 3/8 shut, shut."""
    if fraction <= 0.02:
        return "open"
    if fraction >= 0.98:
        return "shut"
    return f"{Fraction(min(max(round(fraction * 8), 1), 7), 8)} shut"


def monitor(values: dict[str, float], pulse_wave: str = "present") -> tuple[Vital, ...]:
    """Return the numbers of a monitor; what is not in `values` shows as missing."""
    rows = (
        ("pulse_per_min", "Pulse", "/min"),
        ("saturation_percent", "Saturation", "%"),
        ("end_tidal_mmhg", "End-tidal carbon dioxide", "mmHg"),
        ("systolic_mmhg", "Pressure, upper", "mmHg"),
        ("diastolic_mmhg", "Pressure, lower", "mmHg"),
    )
    vitals = [
        Vital(name=name, value=f"{values[key]:g}" if key in values else "– –", unit=unit, is_missing=key not in values)
        for key, name, unit in rows
    ]
    wave = Vital(name="Pulse wave", value=pulse_wave, unit="", is_missing=pulse_wave == "absent")
    return (*vitals, wave)


def bottles(water_l: Sequence[float], pressure_bar: Sequence[float], full_bar: float) -> tuple[Bottle, ...]:
    """Return cylinders side by side: size by water volume (L), filling by pressure (bar) over `full_bar`.

    Raises ValueError when there are not as many pressures as volumes, or none.
    """
    if not water_l or len(water_l) != len(pressure_bar):
        raise ValueError("as many pressures as cylinders are needed, and at least one")
    largest = max(water_l)
    made, x = [], 10.0
    for litres, bar in zip(water_l, pressure_bar, strict=True):
        size = (litres / largest) ** (1 / 3)
        tall, wide = TALLEST * size, NARROWEST + 24 * size
        filled = tall * min(max(bar / full_bar, 0.0), 1.0)
        made.append(
            Bottle(
                x=coordinate(x),
                width=coordinate(wide),
                top=coordinate(170 - tall),
                height=coordinate(tall),
                fill_top=coordinate(170 - filled),
                fill_height=coordinate(filled),
                words=f"{litres:g} L, {bar:g} bar",
            )
        )
        x += wide + 60
    return tuple(made)


def _pointer(share: float) -> str:
    angle = radians(START_DEGREES + SWEEP_DEGREES * min(max(share, 0.0), 1.0))
    x, y = 50 + (KNOB_RADIUS - 6) * sin(angle), 50 - (KNOB_RADIUS - 6) * cos(angle)
    return f"M50 50L{coordinate(x)} {coordinate(y)}"
