"""What an observation sheet says at one moment: marks, order, prompts, times, notes and the global rating."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum, StrEnum


class StepMark(StrEnum):
    """What the assessor saw of a step; a step without one is unmarked."""

    DONE = "done"
    NOT_DONE = "not_done"
    NOT_SEEN = "not_seen"
    NOT_CALLED_FOR = "not_called_for"


class GlobalRating(IntEnum):
    """The assessor's overall judgement, beside the steps and never blended with them."""

    UNSAFE = 1
    BORDERLINE = 2
    SAFE_WITH_RESERVATIONS = 3
    GOOD = 4
    COULD_TEACH_IT = 5

    @property
    def anchor(self) -> str:
        """What this rating means, in the words shown to the assessor."""
        return _ANCHORS[self]


_ANCHORS = {
    GlobalRating.UNSAFE: "unsafe: a patient would have come to harm or somebody had to step in",
    GlobalRating.BORDERLINE: "borderline: got there, but with luck or with too much hesitation to rely on",
    GlobalRating.SAFE_WITH_RESERVATIONS: "safe with reservations: safe today, with something named to work on",
    GlobalRating.GOOD: "good: safe, fluent and aware of the patient throughout",
    GlobalRating.COULD_TEACH_IT: "could teach it: calm, explains why, sees ahead",
}


@dataclass(frozen=True, kw_only=True)
class Note:
    """A remark made on the sheet, about one step or (step "") about the whole."""

    event_id: str
    step: str
    text: str
    device_time: datetime


@dataclass(frozen=True, kw_only=True)
class SpotWord:
    """What the person observed said on the spot, on the assessor's device: marks seen or not, and own words."""

    seen: bool
    words: str
    device_time: datetime


@dataclass(frozen=True, kw_only=True)
class ObservationState:
    """The sheet as it stands. Times are seconds from the start; a step missing from `done_at_s` has no usable time.

    `performed` holds the done steps in the order they happened. `corrected` says that something was taken back
    or moved; more than one entry in `devices` and any in `conflicting_events` deserve a look by a person.
    `spot_word` is None again once anything was marked after it: nobody confirms what came later.
    """

    marks: tuple[tuple[str, StepMark], ...] = ()
    prompted: tuple[str, ...] = ()
    performed: tuple[str, ...] = ()
    done_at_s: tuple[tuple[str, float], ...] = ()
    stopped_at_s: float | None = None
    started_at: datetime | None = None
    stopped_at: datetime | None = None
    rating: int | None = None
    spot_word: SpotWord | None = None
    notes: tuple[Note, ...] = ()
    corrected: bool = False
    devices: tuple[str, ...] = ()
    conflicting_events: tuple[str, ...] = ()

    def mark_of(self, step: str) -> StepMark | None:
        """The mark of a step, or None while it is unmarked."""
        return dict(self.marks).get(step)
