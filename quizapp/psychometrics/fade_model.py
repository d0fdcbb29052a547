"""How a skill fades and what teaching does to it, on a scale of logits whose pass standard is 0.

An Ornstein-Uhlenbeck process: what was gained halves with time, and what is not known widens to a bound.
"""

from __future__ import annotations

from dataclasses import dataclass

UNTRAINED_BASELINE = -1.5
"""Where an untrained person stands: a chance of .067 to meet the standard. Ours (assumption)."""
LONG_RUN_VARIANCE = 1.0
"""How far people differ when nothing has been seen for long: the usual unit of the scale. Ours (assumption)."""


@dataclass(frozen=True, kw_only=True)
class FadeModel:
    """How fast a skill fades (half-life in days, above 0), to what baseline, and how uncertain it then is."""

    half_life_days: float
    baseline: float = UNTRAINED_BASELINE
    long_run_variance: float = LONG_RUN_VARIANCE

    def __post_init__(self) -> None:
        if not (self.half_life_days > 0 and self.long_run_variance > 0):
            raise ValueError(
                f"half-life and variance must be above 0, not {self.half_life_days} d and {self.long_run_variance}"
            )

    def kept_fraction(self, days: float) -> float:
        """Give the share of a gain that is left after `days` (0 and up).

        Raises ValueError for less than 0 days: nothing is forecast for a day before the last evidence.
        """
        if not days >= 0:
            raise ValueError(f"nothing can be forecast {days} days after the last evidence; ask for 0 or more")
        return float(2.0 ** (-days / self.half_life_days))


@dataclass(frozen=True, kw_only=True)
class Training:
    """What teaching without assessment does: moves a share (0 to 1) of the way to a target, and scatters."""

    share_fraction: float
    target: float
    scatter_variance: float


TAUGHT = Training(share_fraction=0.6, target=2.0, scatter_variance=0.64)
"""A course: alone it lifts an untrained person's chance to .749, under any threshold. Ours (assumption)."""
PRACTISED = Training(share_fraction=0.3, target=2.0, scatter_variance=0.16)
"""A few minutes of practice with feedback. Ours (assumption)."""
