"""What the sheet shows of each step, the clock, and what the script needs to go on without the service."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from quizapp.assessment.observation_event_json import event_to_json
from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.time_limits import Interval, IntervalResult
from quizapp.services.observation_sheet import Sheet

MARK_WORDS = {
    StepMark.DONE: "done",
    StepMark.NOT_DONE: "not done",
    StepMark.NOT_SEEN: "not seen",
    StepMark.NOT_CALLED_FOR: "not called for",
}


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One step: its place in the order done ("" while not done), its mark ("" for none), and what is said of it."""

    key: str
    text: str
    is_critical: bool
    order: str
    recorded: str
    record_words: str


@dataclass(frozen=True, kw_only=True)
class Watch:
    """The clock: seconds since the start, the same in figures, and the first time limit that can be said."""

    seconds: int
    shown: str
    headline: str
    detail: str
    is_started: bool
    is_stopped: bool


@dataclass(frozen=True, kw_only=True)
class Undo:
    """The newest tap that can be taken back."""

    event_id: str
    words: str


def sheet_rows(sheet: Sheet) -> tuple[SheetRow, ...]:
    """Return the steps as listed, each with its mark as it counts so far."""
    state = sheet.state
    place = {letter: str(number) for number, letter in enumerate(state.performed, 1)}
    off = not_presented(sheet)
    rows = []
    for step in sheet.procedure.steps:
        mark = state.mark_of(step.letter) or (StepMark.NOT_CALLED_FOR if step.letter in off else None)
        rows.append(
            SheetRow(
                key=step.letter,
                text=step.text,
                is_critical=step.critical,
                order=place.get(step.letter, ""),
                recorded=mark.value if mark else "",
                record_words=_record_words(sheet, step.letter, mark),
            )
        )
    return tuple(rows)


def not_presented(sheet: Sheet) -> frozenset[str]:
    """Return the steps that this scenario does not call for."""
    return sheet.procedure.conditional_letters - sheet.presented


def _record_words(sheet: Sheet, letter: str, mark: StepMark | None) -> str:
    words = [MARK_WORDS[mark]] if mark else []
    seconds = dict(sheet.state.done_at_s).get(letter)
    if mark is StepMark.DONE and seconds is not None:
        words = [f"done {clock_figures(seconds)}"]
    if letter in sheet.state.prompted:
        words.append("prompted")
    return ", ".join(words)


def clock_figures(seconds: float) -> str:
    """Write seconds as minutes and seconds, for example 01:09; part of a second is cut off."""
    whole = max(0, int(seconds))
    return f"{whole // 60:02}:{whole % 60:02}"


def watch_of(sheet: Sheet, now: datetime) -> Watch:
    """Return the clock as it stands at `now`; before the start it stands at nought."""
    state = sheet.state
    seconds = 0.0
    if state.started_at:
        running = (now - state.started_at).total_seconds()
        seconds = running if state.stopped_at_s is None else state.stopped_at_s
    headline, detail = _limit_words(sheet)
    return Watch(
        seconds=max(0, int(seconds)),
        shown=clock_figures(seconds),
        headline=headline,
        detail=detail,
        is_started=state.started_at is not None,
        is_stopped=state.stopped_at is not None,
    )


def _limit_words(sheet: Sheet) -> tuple[str, str]:
    for interval in sheet.result.intervals:
        if interval.result in (IntervalResult.MET, IntervalResult.NOT_MET) and not interval.censored:
            return f"{interval.elapsed_s:.0f} s", interval.text
    if sheet.state.started_at is None:
        return "Not started", "Start the clock when the scenario starts; marks made before carry no time."
    return "", ""


def limit_line(interval: Interval) -> str:
    """Say one interval with its result, for the result page."""
    said = {
        IntervalResult.MET: "kept",
        IntervalResult.NOT_MET: "not kept",
        IntervalResult.NOT_MEASURED: "not measured",
        IntervalResult.NOT_CALLED_FOR: "not called for",
    }[interval.result]
    seconds = "" if interval.elapsed_s is None else f", {interval.elapsed_s:.0f} s"
    censored = " and still running at the stop" if interval.censored else ""
    weight = "It decides." if interval.counts else "A teaching target, shown and never decisive."
    return f"{interval.text}: {said}{seconds}{censored}. {weight}"


def undo_of(sheet: Sheet) -> Undo | None:
    """Return the newest tap that was not taken back, if there is one."""
    undone = {event.undoes for event in sheet.events if event.kind is EventKind.UNDO}
    kept = [event for event in sheet.events if event.kind is not EventKind.UNDO and event.event_id not in undone]
    if not kept:
        return None
    newest = max(kept, key=lambda event: (event.device_id, event.sequence, event.event_id))
    return Undo(event_id=newest.event_id, words=event_words(newest))


def event_words(event: ObservationEvent) -> str:
    """Say one tap in a few words."""
    match event.kind:
        case EventKind.MARK:
            return f"{event.step}, {MARK_WORDS[event.mark] if event.mark else ''}"
        case EventKind.PROMPT:
            return f"{event.step}, prompted"
        case EventKind.MOVE:
            return f"{event.step}, moved"
        case EventKind.NOTE:
            return f"note {event.step}".strip()
        case EventKind.SPOT_WORD:
            return "their word"
        case _:
            return {EventKind.START: "start", EventKind.STOP: "stop"}.get(event.kind, event.kind.value)


def script_data(sheet: Sheet) -> str:
    """Return the taps stored so far and the first time limit, as JSON for the sheet's script."""
    limits = [
        {"text": limit.text, "from": list(limit.from_steps), "to": list(limit.to_steps)}
        for limit in sheet.procedure.limits
    ]
    values = {
        "events": [event_to_json(event) for event in sheet.events],
        "off": sorted(not_presented(sheet)),
        "limit": limits[0] if limits else None,
    }
    return json.dumps(values, ensure_ascii=True, separators=(",", ":"))
