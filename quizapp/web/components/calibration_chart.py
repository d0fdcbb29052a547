"""What was shown against what was foretold: a dot with its interval for each bin, on a square with its diagonal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.psychometrics.calibration import CalibrationBin
from quizapp.web.instruments.plot import AxisLabel, GridLine, Range
from quizapp.web.instruments.written import coordinate

SHARES = Range(low=0.0, high=1.0, fine=0.1, main=0.5, label=0.5)
LINES = (0.0, 0.25, 0.5, 0.75, 1.0)
LABELS = ((0.0, "0"), (0.5, "50"), (1.0, "100"))


@dataclass(frozen=True, kw_only=True)
class BinMark:
    """One bin: where its dot stands and from where to where its interval reaches, in percent."""

    x: str
    y: str
    low: str
    high: str


@dataclass(frozen=True, kw_only=True)
class BinRow:
    """One line of the table beside the drawing."""

    foretold: str
    count: int
    shown: str
    interval: str


@dataclass(frozen=True, kw_only=True)
class CalibrationChart:
    """Everything drawn, in percent of the field, and the table beside it."""

    columns: tuple[GridLine, ...]
    rows: tuple[GridLine, ...]
    x_labels: tuple[AxisLabel, ...]
    y_labels: tuple[AxisLabel, ...]
    marks: tuple[BinMark, ...]
    table: tuple[BinRow, ...]
    words: str


def calibration_chart(bins: Sequence[CalibrationBin]) -> CalibrationChart:
    """Return the drawing of bins, lowest first."""
    return CalibrationChart(
        columns=tuple(GridLine(at=_across(share), is_main=share in {0.0, 1.0}) for share in LINES),
        rows=tuple(GridLine(at=_up(share), is_main=share in {0.0, 1.0}) for share in LINES),
        x_labels=tuple(AxisLabel(at=_across(share), text=text) for share, text in LABELS),
        y_labels=tuple(AxisLabel(at=_up(share), text=text) for share, text in LABELS),
        marks=tuple(
            BinMark(
                x=_across(one.foretold_fraction),
                y=_up(one.shown_fraction),
                low=_up(one.interval.lower_fraction),
                high=_up(one.interval.upper_fraction),
            )
            for one in bins
        ),
        table=tuple(_row(one) for one in bins),
        words=(
            f"{len(bins)} square{'s' * (len(bins) != 1)} with upright intervals over chances foretold, 0 to 100 "
            "in 100. On the dashed diagonal as many showed the standard as foretold; above it more did, below it fewer."
        ),
    )


def _row(one: CalibrationBin) -> BinRow:
    low, high = round(100 * one.interval.lower_fraction), round(100 * one.interval.upper_fraction)
    return BinRow(
        foretold=f"{100 * one.lower_fraction:.0f} to {100 * one.upper_fraction:.0f}",
        count=one.count,
        shown=f"{100 * one.shown_fraction:.0f}",
        interval=f"{low} to {high}",
    )


def _across(share: float) -> str:
    return f"{coordinate(SHARES.percent(share))}%"


def _up(share: float) -> str:
    return f"{coordinate(100 - SHARES.percent(share))}%"
