"""Reading instruments back from their markup: angles of needles, points of curves through their own axes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from quizapp.web.instruments.render import render_figure

ARC_FROM, ARC_OVER = -135.0, 270.0
"""A gauge runs over 270 degrees, from the lower left: ours, written out here again on purpose."""


def needle_angles(markup: str) -> list[float]:
    """Angles of the needles in a drawing, in degrees clockwise from straight up."""
    return [float(found) for found in re.findall(r"<g transform=\"rotate\((-?[\d.]+) 160 160\)\"", markup)]


def reading_at(angle: float, low: float, high: float) -> float:
    """What a needle at an angle points at on a scale from low to high."""
    return low + (angle - ARC_FROM) / ARC_OVER * (high - low)


def drawn_curves(figure: Mapping[str, Any]) -> list[list[tuple[float, float]]]:
    """The points of every curve of a figure, read back through its own axis labels."""
    markup = str(render_figure(figure))
    curves = []
    for plot in markup.split('<svg class="plot-area" aria-hidden="true">')[1:]:
        path = re.search(r'class="trace" d="M([^"]+)"', plot)
        assert path is not None
        x, y = axis(plot, "ax-x", "x"), axis(plot, "ax-y", "y")
        pairs = (pair.split() for pair in path[1].split("L"))
        curves.append([(x(float(at) / 10), y(float(value) / 10)) for at, value in pairs])
    return curves


def axis(plot: str, name: str, side: str) -> Callable[[float], float]:
    """The straight line through the first and the last label of an axis, from percent to value."""
    labels = re.findall(rf'<text class="{name}[^"]*"([^>]*)>([^<]+)<', plot)
    places = [float(match[1]) for attributes, _ in labels if (match := re.search(rf' {side}="([\d.]+)%?"', attributes))]
    values = [float(text.split()[0].replace("−", "-")) for _, text in labels]
    slope = (values[-1] - values[0]) / (places[-1] - places[0])
    return lambda percent: values[0] + (percent - places[0]) * slope
