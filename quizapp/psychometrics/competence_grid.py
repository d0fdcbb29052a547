"""The grid on which a skill is believed to lie, and the kernels that move belief over it.

Cell masses come from differences of the normal distribution, so a kernel narrower than a cell stays exact.
"""

from __future__ import annotations

from functools import lru_cache
from math import erfc, exp, pi, sqrt
from typing import TYPE_CHECKING

from quizapp.psychometrics.fade_model import FadeModel, Training

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

NODE_COUNT = 241
FURTHEST = 6.0
"""The grid runs from -6 to 6 in steps of 0.05; its middle node lies exactly on the pass standard."""
BLOCK_DAYS = 32
"""A gap is crossed in whole blocks and a rest of days, so that some dozens of kernels serve every gap there is."""
KERNELS_KEPT = 192
FURTHEST_SD = 9.0
"""Beyond so many standard deviations the normal distribution is 0 or 1 to the last bit."""
STEPS_AN_SD = 128


@lru_cache(maxsize=4)
def nodes(count: int = NODE_COUNT) -> Floats:
    """Return the skills on which belief is held, evenly from -6 to 6; for an odd count 0 itself is one of them."""
    import numpy as np

    made: Floats = (np.arange(count, dtype=np.float64) - (count - 1) / 2) * (2.0 * FURTHEST / (count - 1))
    made.setflags(write=False)
    return made


def normal_mass(means: Floats, sd: float, count: int = NODE_COUNT) -> Floats:
    """Return, for each mean, the mass of a normal distribution in each cell; the end cells hold the tails."""
    import numpy as np

    grid = nodes(count)
    edges = (grid[:-1] + grid[1:]) / 2.0
    below = normal_below((edges[None, :] - np.asarray(means)[:, None]) / sd)
    return np.diff(below, axis=1, prepend=0.0, append=1.0)


def normal_below(z: Floats) -> Floats:
    """Return the standard normal distribution function: a table, and three terms of Taylor's series from its places.

    The error is below 2e-11, and in the tails below 1e-8 of the value.
    """
    import numpy as np

    below, density = _normal_table()
    kept = np.clip(z, -FURTHEST_SD, FURTHEST_SD)
    place = np.rint(kept * STEPS_AN_SD)
    near = place / STEPS_AN_SD
    rest = kept - near
    index = place.astype(np.intp) + int(FURTHEST_SD * STEPS_AN_SD)
    series = 1.0 - near * rest / 2.0 + (near * near - 1.0) * rest * rest / 6.0
    result: Floats = below[index] + density[index] * rest * series
    return result


@lru_cache(maxsize=1)
def _normal_table() -> tuple[Floats, Floats]:
    """Return distribution and density at every place of the table."""
    import numpy as np

    furthest = int(FURTHEST_SD * STEPS_AN_SD)
    places = [place / STEPS_AN_SD for place in range(-furthest, furthest + 1)]
    below = [0.5 * erfc(-place / sqrt(2.0)) for place in places]
    return np.array(below), np.array([exp(-place * place / 2.0) / sqrt(2.0 * pi) for place in places])


def fade_kernels(model: FadeModel, days: int, count: int = NODE_COUNT) -> list[Floats]:
    """Return the kernels that together carry belief over `days` (0 and up), one after the other."""
    blocks, rest = divmod(days, BLOCK_DAYS)
    return [_fade_kernel(model, part, count) for part in (blocks * BLOCK_DAYS, rest) if part]


@lru_cache(maxsize=KERNELS_KEPT)
def _fade_kernel(model: FadeModel, days: int, count: int) -> Floats:
    kept = model.kept_fraction(days)
    means = model.baseline + (nodes(count) - model.baseline) * kept
    return normal_mass(means, sqrt(model.long_run_variance * (1.0 - kept * kept)), count)


@lru_cache(maxsize=4)
def training_kernel(training: Training, count: int = NODE_COUNT) -> Floats:
    """Return the kernel of teaching: part of the way to the target, with scatter."""
    left = 1.0 - training.share_fraction
    means = left * nodes(count) + training.share_fraction * training.target
    return normal_mass(means, sqrt(training.scatter_variance), count)
