"""What an assessor's taps add up to: a fold that gives the same state for any order or repetition of delivery.

Each event is made on a device, with its own id and running number; the state depends on the set of events alone.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from quizapp.assessment.observation_state import Note, ObservationState, SpotWord, StepMark


class EventKind(StrEnum):
    """What one tap on the observation sheet says."""

    MARK = "mark"
    PROMPT = "prompt"
    UNDO = "undo"
    MOVE = "move"
    NOTE = "note"
    RATING = "rating"
    SPOT_WORD = "spot_word"
    FAULT = "fault"
    START = "start"
    STOP = "stop"


@dataclass(frozen=True, kw_only=True)
class ObservationEvent:
    """One tap. `step` is a letter or "", `mark` belongs to MARK, `undoes` (an event id) to UNDO, `text` to NOTE.

    MOVE puts `step` in the record right before the done step `before`, or last where `before` is "".
    SPOT_WORD is the person's own word on the spot: `seen`, and `text`. FAULT reports a device by its `lot`; it says
    nothing about the person and changes no sheet.
    `elapsed_ms` is the device's own steady clock, counted from any point; it survives a jump of the wall clock.
    """

    event_id: str
    device_id: str
    sequence: int
    device_time: datetime
    kind: EventKind
    step: str = ""
    mark: StepMark | None = None
    undoes: str = ""
    before: str = ""
    text: str = ""
    rating: int | None = None
    seen: bool | None = None
    lot: str = ""
    elapsed_ms: int | None = None

    def __post_init__(self) -> None:
        """Refuse a time without a zone: two devices could not be compared."""
        if self.device_time.tzinfo is None:
            raise ValueError(f"event {self.event_id} has a device time without a time zone")


def observation_state(events: Iterable[ObservationEvent]) -> ObservationState:
    """Fold events, in any order and with any repetition, into what the sheet says now.

    Events count in the order of device id and device sequence. The last mark of a step stands; a second "done"
    does not move it. An undo takes one event back, wherever it arrived. Nothing is ever refused here: an event
    that makes no sense (a move of a step not done) changes nothing.
    """
    unique, conflicts = _distinct(events)
    undone = _undone(unique)
    fold = _Fold()
    for event in unique:
        if event.event_id not in undone:
            fold.take(event)
    return ObservationState(
        marks=tuple(sorted(fold.marks.items())),
        prompted=tuple(sorted(fold.prompted)),
        performed=tuple(fold.performed),
        done_at_s=tuple(sorted(fold.times_s().items())),
        stopped_at_s=fold.stopped_s(),
        started_at=fold.start.device_time if fold.start else None,
        stopped_at=fold.stop.device_time if fold.stop else None,
        rating=fold.rating,
        spot_word=fold.spot_word,
        notes=tuple(fold.notes),
        corrected=bool(undone or fold.moved),
        devices=tuple(sorted({event.device_id for event in unique})),
        conflicting_events=conflicts,
    )


def state_hash(state: ObservationState) -> str:
    """SHA-256 (hex) of a state, equal exactly when two states are."""
    values = {name: getattr(state, name) for name in sorted(state.__dataclass_fields__)}
    text = json.dumps(values, default=_plain, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Note):
        return [value.event_id, value.step, value.text, value.device_time.isoformat()]
    if isinstance(value, SpotWord):
        return [value.seen, value.words, value.device_time.isoformat()]
    raise TypeError(f"{type(value).__name__} has no plain form")


def _rank(event: ObservationEvent) -> tuple[str, int, str]:
    return event.device_id, event.sequence, event.event_id


def _distinct(events: Iterable[ObservationEvent]) -> tuple[list[ObservationEvent], tuple[str, ...]]:
    """Each event once, in order; an id that came with two different contents keeps the same one every time."""
    kept: dict[str, ObservationEvent] = {}
    conflicts: set[str] = set()
    for event in events:
        other = kept.setdefault(event.event_id, event)
        if other != event:
            conflicts.add(event.event_id)
            kept[event.event_id] = min(other, event, key=repr)
    return sorted(kept.values(), key=_rank), tuple(sorted(conflicts))


def _undone(events: list[ObservationEvent]) -> frozenset[str]:
    """Ids taken back. An undo may itself be taken back, by a later undo only."""
    known = {event.event_id for event in events}
    undone: set[str] = set()
    for event in reversed(events):
        if event.kind is EventKind.UNDO and event.event_id not in undone and event.undoes in known:
            undone.add(event.undoes)
    return frozenset(undone)


_CHANGES_WHAT_WAS_SEEN = frozenset({EventKind.MARK, EventKind.PROMPT, EventKind.MOVE, EventKind.UNDO})


@dataclass
class _Fold:
    marks: dict[str, StepMark] = field(default_factory=dict)
    done_by: dict[str, ObservationEvent] = field(default_factory=dict)
    performed: list[str] = field(default_factory=list)
    moved: set[str] = field(default_factory=set)
    prompted: set[str] = field(default_factory=set)
    notes: list[Note] = field(default_factory=list)
    rating: int | None = None
    spot_word: SpotWord | None = None
    start: ObservationEvent | None = None
    stop: ObservationEvent | None = None

    def take(self, event: ObservationEvent) -> None:
        self._hear(event)
        match event.kind:
            case EventKind.MARK:
                self._mark(event)
            case EventKind.MOVE:
                self._move(event.step, event.before)
            case EventKind.PROMPT:
                self.prompted.add(event.step)
            case EventKind.NOTE:
                self.notes.append(
                    Note(event_id=event.event_id, step=event.step, text=event.text, device_time=event.device_time)
                )
            case EventKind.RATING:
                self.rating = event.rating
            case EventKind.START:
                self.start = self.start or event
            case EventKind.STOP:
                self.stop = event
            case _:
                pass  # undos are settled before the fold; the word on the spot is heard; a fault is about the device

    def _hear(self, event: ObservationEvent) -> None:
        """The word on the spot holds until something is marked after it."""
        if event.kind is EventKind.SPOT_WORD:
            self.spot_word = SpotWord(seen=bool(event.seen), words=event.text, device_time=event.device_time)
        elif event.kind in _CHANGES_WHAT_WAS_SEEN:
            self.spot_word = None

    def _mark(self, event: ObservationEvent) -> None:
        if event.mark is None:
            return
        already_done = self.marks.get(event.step) is StepMark.DONE
        self.marks[event.step] = event.mark
        if event.mark is StepMark.DONE and not already_done:
            self.performed.append(event.step)
            self.done_by[event.step] = event
            self.moved.discard(event.step)
        elif event.mark is not StepMark.DONE and already_done:
            self.performed.remove(event.step)

    def _move(self, step: str, before: str) -> None:
        if step not in self.performed or before == step or (before and before not in self.performed):
            return
        self.performed.remove(step)
        self.performed.insert(self.performed.index(before) if before else len(self.performed), step)
        self.moved.add(step)

    def times_s(self) -> dict[str, float]:
        """Seconds from start to each done step; a step moved by hand or marked after the stop has none."""
        found: dict[str, float] = {}
        stopped = self.stopped_s()
        for step in self.performed:
            seconds = self._since_start(self.done_by[step])
            if step not in self.moved and seconds is not None and (stopped is None or seconds <= stopped):
                found[step] = seconds
        return found

    def stopped_s(self) -> float | None:
        """Seconds from start to stop; None without either."""
        return self._since_start(self.stop) if self.stop else None

    def _since_start(self, event: ObservationEvent) -> float | None:
        start = self.start
        if start is None:
            return None
        if start.elapsed_ms is not None and event.elapsed_ms is not None and start.device_id == event.device_id:
            seconds = (event.elapsed_ms - start.elapsed_ms) / 1000
        else:
            seconds = (event.device_time - start.device_time).total_seconds()
        return seconds if seconds >= 0 else None
