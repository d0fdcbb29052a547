"""Strips on squared paper: airway pressure (square 0.5 s by 2 cmH2O) and carbon dioxide (0.5 s by 4 mmHg)."""

from __future__ import annotations

import math
from collections.abc import Sequence

from quizapp.web.instruments.plot import Plot, Point, Range, squared

PRESSURE_SQUARE_CMH2O, PRESSURE_STEP_CMH2O, LEAST_PRESSURE_CMH2O = 2.0, 10.0, 30.0
CO2_SQUARE_MMHG, CO2_STEP_MMHG, LEAST_CO2_MMHG = 4.0, 20.0, 60.0
LONG_STRIP_S = 20.0


def pressure_strip(points: Sequence[Point], strip_s: float, description: str = "") -> Plot:
    """Return airway pressure against time; points are (s, cmH2O)."""
    values = [value for _, value in points]
    low = -PRESSURE_STEP_CMH2O if min(values) < 0 else 0.0
    high = _top(max(values) + 1, PRESSURE_STEP_CMH2O, LEAST_PRESSURE_CMH2O)
    y = Range(low=low, high=high, fine=PRESSURE_SQUARE_CMH2O, main=PRESSURE_STEP_CMH2O, label=PRESSURE_STEP_CMH2O)
    shown = description or f"Airway pressure against time, {strip_s:g} seconds, one square 2 centimetres of water."
    return squared(points, _seconds(strip_s), y, name="Airway pressure", unit="cmH2O", x_unit="s", description=shown)


def co2_strip(points: Sequence[Point], strip_s: float, description: str = "") -> Plot:
    """Return carbon dioxide against time; points are (s, mmHg)."""
    high = _top(max(value for _, value in points) + 2, CO2_STEP_MMHG, LEAST_CO2_MMHG)
    y = Range(low=0, high=high, fine=CO2_SQUARE_MMHG, main=CO2_STEP_MMHG, label=CO2_STEP_MMHG)
    shown = description or f"Carbon dioxide against time, {strip_s:g} seconds, one square 4 millimetres of mercury."
    return squared(points, _seconds(strip_s), y, name="Carbon dioxide", unit="mmHg", x_unit="s", description=shown)


def _seconds(strip_s: float) -> Range:
    if strip_s > LONG_STRIP_S:
        return Range(low=0, high=strip_s, fine=1, main=5, label=10)
    return Range(low=0, high=strip_s, fine=0.5, main=1, label=5 if strip_s >= 10 else 1)


def _top(value: float, step: float, least: float) -> float:
    return max(least, math.ceil(value / step) * step)
