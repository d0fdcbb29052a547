"""What a clinician logs after a real use of the device: plain choices only. Exposure, never evidence of competence."""

from __future__ import annotations

from enum import StrEnum


class UseSetting(StrEnum):
    """Where the device was used."""

    SCENE = "scene"
    ON_FOOT = "on_foot"
    WINCH = "winch"
    HELICOPTER = "helicopter"
    SMALL_AIRCRAFT = "small_aircraft"
    BOAT = "boat"
    ROAD = "road"
    BUILDING = "building"

    @property
    def words(self) -> str:
        """The setting as people say it."""
        return {"on_foot": "carry on foot", "road": "road vehicle", "building": "hospital or clinic"}.get(
            self.value, self.value.replace("_", " ")
        )


class UseDuration(StrEnum):
    """About how long the device ran."""

    UNDER_15_MIN = "under_15_min"
    TO_30_MIN = "to_30_min"
    TO_60_MIN = "to_60_min"
    LONGER = "longer"

    @property
    def words(self) -> str:
        """The duration as people say it."""
        return {
            "under_15_min": "under 15 minutes",
            "to_30_min": "15 to 30 minutes",
            "to_60_min": "30 to 60 minutes",
            "longer": "longer than an hour",
        }[self.value]


class UseOutcome(StrEnum):
    """What happened, in one plain choice."""

    AS_PLANNED = "as_planned"
    TROUBLE_ON_DEVICE = "trouble_on_device"
    OVER_TO_BAG = "over_to_bag"
    DECIDED_AGAINST = "decided_against"

    @property
    def words(self) -> str:
        """The outcome as people say it."""
        return {
            "as_planned": "It ran as planned",
            "trouble_on_device": "There was trouble, put right on the device",
            "over_to_bag": "Off the device, ventilated by bag",
            "decided_against": "Taken out, decided against it",
        }[self.value]

    @property
    def needs_fault(self) -> bool:
        """Whether a fault has to be named with it."""
        return self is UseOutcome.TROUBLE_ON_DEVICE


class UseFault(StrEnum):
    """What went wrong, as one would say it to the next crew."""

    STOPPED = "stopped"
    RELIEF = "relief"
    LEAK = "leak"
    KINK = "kink"
    FAST_SMALL_BREATHS = "fast_small_breaths"
    STACKING = "stacking"
    EFFORT = "effort"
    OXYGEN = "oxygen"
    MONITORING = "monitoring"
    BROKEN = "broken"
    OTHER = "other"

    @property
    def words(self) -> str:
        """The fault as people say it."""
        return {
            "stopped": "it stopped cycling",
            "relief": "the pressure relief sounded",
            "leak": "leak or disconnection",
            "kink": "kink or obstruction",
            "fast_small_breaths": "small fast breaths at an unmoved peak",
            "stacking": "breaths stacked",
            "effort": "the patient breathed against it",
            "oxygen": "oxygen ran short or failed",
            "monitoring": "monitoring lost",
            "broken": "a part was broken or missing",
            "other": "something else",
        }[self.value]
