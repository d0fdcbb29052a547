"""Where an observation takes place; a patient's care always comes before the sheet."""

from __future__ import annotations

from enum import StrEnum


class ObservationSetting(StrEnum):
    """On the bench (off the patient, with a test lung), in simulation, or during real care."""

    BENCH = "bench"
    SIMULATION = "simulation"
    PATIENT = "patient"

    @property
    def words(self) -> str:
        """The setting as the sheet says it."""
        return _WORDS[self]


_WORDS = {
    ObservationSetting.BENCH: "on the bench, with a test lung",
    ObservationSetting.SIMULATION: "in simulation",
    ObservationSetting.PATIENT: "with a patient; care comes first, the sheet second",
}
