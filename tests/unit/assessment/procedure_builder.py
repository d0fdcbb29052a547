"""A small procedure for tests, and taps on a sheet, each with only what the test is about spelt out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.assessment.observation_state import ObservationState, StepMark
from quizapp.assessment.procedures import BeforePair, Procedure, Step

BEGIN = datetime(2027, 3, 14, 9, 30, tzinfo=UTC)


def procedure(letters: str = "abcd", pairs: str = "ab bc", critical: str = "", conditional: str = "") -> Procedure:
    """Steps by letter, pairs written "ab bc"; `critical` and `conditional` list letters."""
    return Procedure(
        code="P90",
        title="A bench test",
        version=1,
        when="On a bench.",
        competencies=("C8",),
        minutes=5,
        cut_fraction=0.8,
        owner="clinical lead",
        review_by=date(2027, 9, 30),
        sources=("CP",),
        steps=tuple(
            Step(letter=letter, text=f"Step {letter}", critical=letter in critical, conditional=letter in conditional)
            for letter in letters
        ),
        pairs=tuple(BeforePair(first=pair[0], then=pair[1], why=f"{pair} is real") for pair in pairs.split()),
        critical_pairs=(),
        limits=(),
        timing_notes=(),
        cautions=("In doubt, bag.",),
        variants=(),
        valid_orders=1,
        valid_orders_on_every_device=1,
        body="",
        content_hash="0" * 64,
    )


def sheet(done: str, **more: object) -> ObservationState:
    """A sheet on which the steps of `done` were done in that order; `not_done`, `not_seen`, `not_called` by letters."""
    marks = dict.fromkeys(done, StepMark.DONE)
    for name, mark in (
        ("not_done", StepMark.NOT_DONE),
        ("not_seen", StepMark.NOT_SEEN),
        ("not_called", StepMark.NOT_CALLED_FOR),
    ):
        marks |= dict.fromkeys(str(more.pop(name, "")), mark)
    plain = ObservationState(marks=tuple(sorted(marks.items())), performed=tuple(done))
    return replace(plain, **more)  # type: ignore[arg-type]


def tap(sequence: int, kind: EventKind = EventKind.MARK, **more: object) -> ObservationEvent:
    """One tap, a second after the one before; its id follows from device and sequence."""
    device = str(more.pop("device_id", "tablet"))
    values: dict[str, object] = {
        "event_id": f"{sequence:08x}{device.encode().hex():0>24}"[:32],
        "device_time": BEGIN + timedelta(seconds=sequence),
        **more,
    }
    if kind is EventKind.MARK:
        values.setdefault("mark", StepMark.DONE)
    return ObservationEvent(device_id=device, sequence=sequence, kind=kind, **values)  # type: ignore[arg-type]
