"""What the page of calibration shows: figures in words, a drawing and its table for each track, and local fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.assessment.competence_settings import Track
from quizapp.psychometrics.calibration import Calibration
from quizapp.services.competence_calibration import TrackCalibration
from quizapp.services.fit_competence import is_better
from quizapp.store.competence import CompetenceFit
from quizapp.web.components.calibration_chart import CalibrationChart, calibration_chart
from quizapp.web.filters import short_day

NAMES = {Track.KNOWLEDGE: "Knowledge", Track.PERFORMANCE: "Hands"}
LOUD_Z = 2.576
"""Spiegelhalter's test at the level of .01: one look for the whole track, never bin by bin."""


@dataclass(frozen=True, kw_only=True)
class FiguresRow:
    """One line of figures: all forecasts of a track, or those after a gap of some length."""

    words: str
    count: int
    brier: str
    base_rate: str
    log_loss: str
    bins_error: str
    line: str


@dataclass(frozen=True, kw_only=True)
class TrackShown:
    """One track with its words, its figures and, once anything was foretold and seen, its drawing."""

    id: str
    name: str
    numbers: str
    counts: str
    is_calibrated: bool
    verdict: str
    figures: tuple[FiguresRow, ...]
    chart: CalibrationChart | None


@dataclass(frozen=True, kw_only=True)
class FitShown:
    """One local fit: what it is, how it was judged, whether it is in force."""

    name: str
    made: str
    judged: str
    state: str


def finding(tracks: Sequence[TrackCalibration]) -> str:
    """Say in one sentence how far the estimate can be believed here."""
    checked = [NAMES[one.track].lower() for one in tracks if one.is_calibrated]
    if not checked:
        return "Nobody can say yet how far to believe the estimate."
    if len(checked) < len(tracks):
        return f"The estimate was checked against outcomes for {checked[0]} only."
    return "The estimate was checked against outcomes of this service."


def shown_track(one: TrackCalibration) -> TrackShown:
    """Return one track as it is shown."""
    rows = [("All", one.overall), *((words[0].upper() + words[1:], figures) for words, figures in one.by_gap)]
    outcomes = "1 outcome" if one.outcome_count == 1 else f"{one.outcome_count} outcomes"
    return TrackShown(
        id=one.track.value,
        name=NAMES[one.track],
        numbers="the published numbers" if one.fit_number is None else f"local fit {one.fit_number}",
        counts=f"{outcomes} that others assessed, {one.not_shown_count} of them not shown",
        is_calibrated=one.is_calibrated,
        verdict=_verdict(one),
        figures=tuple(_figures(words, figures) for words, figures in rows if figures is not None),
        chart=None if one.overall is None else calibration_chart(one.overall.bins),
    )


def _verdict(one: TrackCalibration) -> str:
    if not one.is_calibrated or one.overall is None:
        return "Too few outcomes for a verdict."
    if abs(one.overall.spiegelhalter_z) <= LOUD_Z:
        return "Nothing speaks against what was foretold."
    return "What was foretold and what was shown do not agree; a local fit may help."


def _figures(words: str, figures: Calibration) -> FiguresRow:
    if figures.slope is None or figures.intercept is None:
        line = "none"
    else:
        line = f"{figures.slope:.2f}, {figures.intercept:+.2f}".replace("-", "−")
    return FiguresRow(
        words=words,
        count=figures.count,
        brier=f"{figures.brier:.3f}",
        base_rate=f"{figures.base_rate_brier:.3f}",
        log_loss=f"{figures.log_loss:.3f}",
        bins_error=f"{figures.calibration_error:.3f}",
        line=line,
    )


def shown_fits(rows: Sequence[CompetenceFit]) -> list[FitShown]:
    """Return the fits as they are shown, the newest first."""
    return [
        FitShown(
            name=f"Fit {row.number}, {NAMES[Track(row.track)].lower()}",
            made=f"{short_day(row.fitted_at.date())}, {row.outcome_count} outcomes, {row.not_shown_count} not shown",
            judged=(
                f"Brier {row.brier_before:.3f} before, {row.brier_after:.3f} after: "
                f"{'better' if is_better(row) else 'no better'}"
            ),
            state=_state(row),
        )
        for row in rows
    ]


def _state(row: CompetenceFit) -> str:
    if row.put_in_force_at is None:
        return "not in force"
    return "in force" if row.taken_out_at is None else "taken out"
