"""One figure of every instrument, as a frozen question or a page would give it."""

from __future__ import annotations

from typing import Any

TRACE: dict[str, Any] = {"peak_cmh2o": 22, "baseline_cmh2o": 4, "inflation_s": 1.2, "expiration_s": 2.55}
CO2: dict[str, Any] = {"end_tidal_mmhg": 45, "inflation_s": 1.2, "expiration_s": 2.55}
FIGURES: tuple[dict[str, Any], ...] = (
    {"instrument": "airway-pressure-gauge", "needle": 16, "alt": ""},
    {
        "instrument": "pressure_gauge",
        "numbers": {"needle_cmh2o": ["-4"]},
        "words": {"motion": "flutter"},
        "alt": "A dial whose needle flutters.",
    },
    {"instrument": "pressure_gauge", "needle": 23, "low": 0, "high": 50, "minor": 1, "major": 5, "relief_mark": 45},
    {"instrument": "gauge-swing", "peak": 22, "baseline": 5, "relief_mark": 50},
    {"instrument": "flat-scale", "needle": 16, "written": 13},
    {"instrument": "contents-gauge", "needle_bar": 137},
    {"instrument": "contents_gauge", "needle_bar": 210, "high_bar": 300},
    {"instrument": "flowmeter", "float_l_min": 12},
    {"instrument": "pressure-time-trace", **TRACE},
    *({"instrument": "pressure_trace", **TRACE, "shape": shape} for shape in ("leak", "kink", "effort", "stacking")),
    *(
        {"instrument": "pressure_trace", **TRACE, "shape": shape}
        for shape in ("stalled_inflation", "stalled_expiration")
    ),
    {"instrument": "capnogram", **CO2},
    *(
        {"instrument": "capnogram", **CO2, "shape": shape}
        for shape in ("rising_plateau", "notch", "abrupt_loss", "decay")
    ),
    {"instrument": "capnogram", **CO2, "shape": "raised_baseline", "baseline_mmhg": 8},
    {
        "instrument": "trend",
        "rate_per_min": [12, 12, 13, 14, 14, 15, 16, 17, 17, 18],
        "peak_cmh2o": [22] * 10,
        "end_tidal_mmhg": [38, 38, 39, 40, 41, 42, 43, 45, 46, 47],
        "saturation_percent": [97, 97, 97, 96, 96, 96, 95, 95, 94, 94],
        "alt": "Four lines over ten minutes; the first and third climb, the second is level, the fourth sinks.",
    },
    {"instrument": "emptying-curve", "volume_ml": 500, "time_constant_s": 0.8, "expiration_s": 2.0},
    {
        "instrument": "controls",
        "flow_l_min": 15,
        "peak_cmh2o": 22,
        "rate_control_fraction": 0.5,
        "oxygen_fraction": 1.0,
        "alt": "Four knobs.",
    },
    {
        "instrument": "monitor",
        "pulse_per_min": 96,
        "saturation_percent": 93,
        "alt": "A monitor without carbon dioxide.",
    },
    {"instrument": "cylinders", "water_l": [2, 10], "pressure_bar": [150, 90], "alt": "A small and a large cylinder."},
    {"instrument": "direction_table", "asked": 2, "compliance_direction": -1, "alt": "The compliance falls; the rate."},
    *(
        {"instrument": "assembly", "fault": fault}
        for fault in (
            *("none", "open_joint", "filter_wrong_side", "open_gauge_port", "restraint_left", "tube_under_strap"),
        )
    ),
)
