"""The sheet's script and the service add marks up alike: 300 stormy deliveries, each folded by both."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from playwright.sync_api import Page

from quizapp.assessment.observation_event_json import event_from_json
from quizapp.assessment.observation_events import observation_state

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
STEPS = "abcde"
MARKS = ("done", "done", "done", "not_done", "not_seen", "not_called_for")
KINDS = (
    "mark", "mark", "mark", "mark", "prompt", "undo", "undo", "move", "note", "start", "stop", "rating", "spot_word",
    "spot_word", "fault",
)  # fmt: skip
FOLD_ALL = """async lists => {
    const { fold } = await import('/static/js/observation_fold.js');
    return lists.map(events => {
        const state = fold(events);
        return {
            marks: Object.fromEntries(state.marks), performed: state.performed, prompted: [...state.prompted].sort(),
            word: state.spotWord && [state.spotWord.seen, state.spotWord.text], rating: state.rating,
            times: Object.fromEntries(state.times), stopped: state.stopped, notes: state.notes.map(note => note.text),
        };
    });
}"""


def stormy_events(seed: int) -> list[dict[str, Any]]:
    """Taps of two devices with undone undos, moves, clocks that jump, in any order."""
    chance = random.Random(seed)
    events: list[dict[str, Any]] = []
    for number in range(chance.randint(1, 25)):
        kind = chance.choice(KINDS)
        event: dict[str, Any] = {
            "event_id": f"{chance.getrandbits(128):032x}",
            "device_id": chance.choice(("01-phone", "02-phone")),
            "sequence": chance.randint(0, 40),
            "device_time": (START + timedelta(milliseconds=chance.randint(-5_000, 90_000))).isoformat(),
            "kind": kind,
        }
        if chance.random() < 0.8:
            event["elapsed_ms"] = chance.randint(0, 90_000)
        if kind in {"mark", "prompt", "move"}:
            event["step"] = chance.choice(STEPS)
        if kind == "mark":
            event["mark"] = chance.choice(MARKS)
        if kind == "move" and chance.random() < 0.7:
            event["before"] = chance.choice(STEPS)
        event |= at_the_end(kind, chance)
        if kind == "undo":
            event["undoes"] = chance.choice(events)["event_id"] if events else "f" * 32
        if kind == "note":
            event["text"] = f"note {number}"
        events.append(event)
    chance.shuffle(events)
    return events


def at_the_end(kind: str, chance: random.Random) -> dict[str, Any]:
    """What the judgement, the word on the spot and a fault of the device say beside what every tap says."""
    if kind == "rating":
        return {"rating": chance.randint(1, 5)}
    if kind == "spot_word":
        return {"seen": chance.random() < 0.5, "text": f"word {chance.randint(1, 9)}"}
    return {"lot": "L 204", "text": "No cycling."} if kind == "fault" else {}


def as_the_service_says(events: list[dict[str, Any]]) -> dict[str, Any]:
    state = observation_state(event_from_json(event) for event in events)
    return {
        "marks": {letter: mark.value for letter, mark in state.marks},
        "performed": list(state.performed),
        "prompted": list(state.prompted),
        "word": [state.spot_word.seen, state.spot_word.words] if state.spot_word else None,
        "rating": state.rating,
        "times": dict(state.done_at_s),
        "stopped": state.stopped_at_s,
        "notes": [note.text for note in state.notes],
    }


def test_the_script_and_the_service_agree(
    phone: Page, live_server: str, sign_in_as: Callable[[Page, str], None]
) -> None:
    sign_in_as(phone, "mira")
    phone.goto(f"{live_server}/procedures")
    lists = [stormy_events(seed) for seed in range(300)]
    folded = phone.evaluate(FOLD_ALL, lists)
    for seed, (said, events) in enumerate(zip(folded, lists, strict=True)):
        assert said == as_the_service_says(events), f"seed {seed}"
