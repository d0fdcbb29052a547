"""The figures of a simulation as drawings for the guide: calibration by bins, and scores of all ways side by side."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from quizapp.cli.simulated.comparison import FITTED, UNTOUCHED, WAYS, Compared
from quizapp.psychometrics.calibration import CalibrationBin

PANEL, MARGIN, GAP = 230, 56, 70
INK, PALE, MARK = "#1d2b36", "#b9c4cc", "#8a3b12"
ROW, LABELS, SCALE = 24, 250, 240
HIGHEST_BRIER, HIGHEST_LOG_LOSS = 0.30, 0.75


def calibration_drawing(runs: Sequence[Compared]) -> str:
    """Draw, for the first seed of each world, what was shown against what was foretold, untouched and fitted."""
    firsts = list({run.world: run for run in reversed(runs)}.values())[::-1]
    panels = []
    for row, run in enumerate(firsts):
        for column, way in enumerate((UNTOUCHED, FITTED)):
            x, y = MARGIN + column * (PANEL + GAP), 40 + row * (PANEL + GAP)
            title = f"{run.world.value.replace('_', ' ')} world: {way}"
            panels.append(f'<g transform="translate({x} {y})">{_panel(title, run.figures[way].bins)}</g>')
    height = 40 + len(firsts) * (PANEL + GAP)
    words = "Share of simulated clinicians who met the standard, against the chance foretold, with 95 % intervals."
    return _drawing(2 * PANEL + GAP + 2 * MARGIN - 20, height, words, panels)


def _panel(title: str, bins: Sequence[CalibrationBin]) -> str:
    parts = [
        _text(0, -12, title, "start"),
        f'<rect width="{PANEL}" height="{PANEL}" fill="none" stroke="{PALE}"/>',
        f'<line x1="0" y1="{PANEL}" x2="{PANEL}" y2="0" stroke="{PALE}" stroke-dasharray="5 4"/>',
    ]
    for share in (0, 0.5, 1):
        parts.append(_text(share * PANEL, PANEL + 17, f"{share:g}", "middle"))
        parts.append(_text(-8, (1 - share) * PANEL + 4, f"{share:g}", "end"))
    parts.append(_text(PANEL / 2, PANEL + 36, "foretold", "middle"))
    parts.append(f'<g transform="rotate(-90)">{_text(-PANEL / 2, -30, "shown", "middle")}</g>')
    for one in bins:
        x = one.foretold_fraction * PANEL
        low, high = ((1 - end) * PANEL for end in (one.interval.lower_fraction, one.interval.upper_fraction))
        parts.append(f'<line x1="{x:.1f}" y1="{low:.1f}" x2="{x:.1f}" y2="{high:.1f}" stroke="{MARK}"/>')
        parts.append(f'<circle cx="{x:.1f}" cy="{(1 - one.shown_fraction) * PANEL:.1f}" r="3.5" fill="{MARK}"/>')
    return "".join(parts)


def scores_drawing(runs: Sequence[Compared]) -> str:
    """Draw Brier score and log loss of each way, a dot a seed; further left is better."""
    parts, y = [], 0
    for world in dict.fromkeys(run.world for run in runs):
        here = [run for run in runs if run.world is world]
        y += 34
        parts.append(_text(10, y, f"{world.value.replace('_', ' ')} world", "start"))
        parts += [_text(LABELS, y, "Brier score", "start"), _text(LABELS + SCALE + 40, y, "log loss", "start")]
        for way in WAYS:
            y += ROW
            parts.append(_text(20, y + 4, way, "start"))
            brier = [run.figures[way].brier / HIGHEST_BRIER for run in here]
            loss = [run.figures[way].log_loss / HIGHEST_LOG_LOSS for run in here]
            parts += [_dots(LABELS, y, brier, HIGHEST_BRIER), _dots(LABELS + SCALE + 40, y, loss, HIGHEST_LOG_LOSS)]
    words = "Brier score and log loss of each way to foretell, in both worlds; each dot is one seed."
    return _drawing(LABELS + 2 * SCALE + 100, y + 30, words, parts)


def _dots(x: float, y: float, shares: Sequence[float], highest: float) -> str:
    mean = sum(shares) / len(shares)
    dots = "".join(
        f'<circle cx="{x + min(share, 1) * SCALE:.1f}" cy="{y}" r="3.5" fill="{MARK}" fill-opacity="0.7"/>'
        for share in shares
    )
    line = f'<line x1="{x}" y1="{y}" x2="{x + SCALE}" y2="{y}" stroke="{PALE}"/>'
    return line + dots + _text(x + min(mean, 1) * SCALE + 10, y - 5, f"{mean * highest:.3f}", "start")


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _drawing(width: float, height: float, words: str, parts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" font-family="sans-serif" font-size="12" fill="{INK}" role="img">'
        f"<title>{escape(words)}</title>"
        f'<rect width="100%" height="100%" fill="#ffffff"/>' + "\n".join(parts) + "</svg>\n"
    )
