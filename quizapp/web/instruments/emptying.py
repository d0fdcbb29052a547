"""How a lung empties: the volume still in it against time, with a line where the next breath begins."""

from __future__ import annotations

import math
from dataclasses import replace

from quizapp.web.instruments.plot import Plot, Range, squared
from quizapp.web.instruments.written import coordinate

STEP_S = 0.02
SHOWN_BEYOND = 1.25


def emptying(*, volume_ml: float, time_constant_s: float, expiration_s: float, description: str = "") -> Plot:
    """Return the curve of an exponential emptying from `volume_ml` (above 0), both times in s and above 0.

    The curve goes a little beyond the end of expiration, where a line stands. Raises ValueError. Source: first-order
    emptying, 37 % left after one time constant.
    """
    if min(volume_ml, time_constant_s, expiration_s) <= 0:
        raise ValueError("an emptying curve needs a volume and two times above zero")
    x = _seconds(expiration_s * SHOWN_BEYOND)
    samples = [number * STEP_S for number in range(math.floor(x.high / STEP_S) + 1)]
    points = [(at, volume_ml * math.exp(-at / time_constant_s)) for at in samples]
    shown = description or (
        "A curve falls steeply at first and ever more slowly, from the volume breathed in towards nothing. "
        "An upright line marks where the next breath begins."
    )
    drawn = squared(
        points, x, _volume(volume_ml), name="Volume still in the lung", unit="mL", x_unit="s", description=shown
    )
    percent = coordinate(x.percent(expiration_s))
    return replace(drawn, marker_x=f"{percent}%", marker_words="next breath")


def _seconds(last_s: float) -> Range:
    fine = 0.1 if last_s <= 3 else 0.5
    return Range(low=0, high=math.ceil(last_s / 0.5) * 0.5, fine=fine, main=0.5 if last_s <= 3 else 1, label=1)


def _volume(volume_ml: float) -> Range:
    main = 100.0 if volume_ml <= 800 else 200.0
    return Range(low=0, high=math.ceil(volume_ml / main) * main, fine=main / 4, main=main, label=main)
