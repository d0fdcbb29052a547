"""Predicted body weight and the tidal volume that goes with it: lung size follows height and sex.

Source: ARDS Network predicted body weight, adults; below 152.4 cm the formula is an extrapolation.
"""

from __future__ import annotations

from enum import StrEnum

from quizapp.ventilation.ranges import above_zero, within

#: Heights outside these are taken for slips of the pen or for children (our own bounds).
SHORTEST_CM, TALLEST_CM = 120.0, 230.0
FORMULA_STARTS_CM = 152.4


class Sex(StrEnum):
    """Sex as the formula uses it."""

    FEMALE = "female"
    MALE = "male"


_WEIGHT_AT_START_KG = {Sex.FEMALE: 45.5, Sex.MALE: 50.0}


def predicted_weight_kg(height_cm: float, sex: Sex) -> float:
    """Give 50 (male) or 45.5 (female) + 0.91 x (height - 152.4) in kg, height 120 to 230 cm; raises OutOfRangeError."""
    within("height", height_cm, "cm", SHORTEST_CM, TALLEST_CM)
    return _WEIGHT_AT_START_KG[sex] + 0.91 * (height_cm - FORMULA_STARTS_CM)


def predicted_weight_from_inches_kg(height_in: float, sex: Sex) -> float:
    """Give 50 or 45.5 + 2.3 x (height - 60) in kg, height 47.3 to 90.5 in.

    Up to 0.2 kg from the formula in cm, because 2.3/2.54 is .9055 and not .91. Raises OutOfRangeError.
    """
    within("height", height_in, "in", SHORTEST_CM / 2.54, TALLEST_CM / 2.54)
    return _WEIGHT_AT_START_KG[sex] + 2.3 * (height_in - 60)


def is_extrapolated(height_cm: float) -> bool:
    """Say whether a height lies below where the formula starts."""
    return height_cm < FORMULA_STARTS_CM


def tidal_volume_ml(predicted_weight: float, ml_per_kg: float) -> float:
    """Give the tidal volume in mL from a predicted weight (kg) and mL/kg, both above 0."""
    return above_zero("predicted weight", predicted_weight, "kg") * above_zero("volume per kg", ml_per_kg, "mL/kg")


def implied_weight_kg(tidal_volume: float, ml_per_kg: float) -> float:
    """Give the predicted weight in kg behind a tidal volume (mL) and its mL/kg, both above 0."""
    return above_zero("tidal volume", tidal_volume, "mL") / above_zero("volume per kg", ml_per_kg, "mL/kg")
