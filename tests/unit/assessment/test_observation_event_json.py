import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from procedure_builder import tap
from test_observation_events import taps

from quizapp.assessment.observation_event_json import event_from_json, event_to_json
from quizapp.assessment.observation_events import EventKind, ObservationEvent
from quizapp.errors import BadInput

GOOD = event_to_json(tap(7, step="b"))
PLAIN_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
)


def test_an_event_as_a_device_sends_it() -> None:
    assert dict(GOOD) == {
        "event_id": GOOD["event_id"],
        "device_id": "tablet",
        "sequence": 7,
        "device_time": "2027-03-14T09:30:07+00:00",
        "kind": "mark",
        "step": "b",
        "mark": "done",
    }
    assert event_from_json(GOOD) == tap(7, step="b")


@given(taps(5))
def test_there_and_back_nothing_is_invented(events: list[ObservationEvent]) -> None:
    for event in events:
        sent = event_to_json(event)
        if event.kind is not EventKind.UNDO:
            again = event_to_json(event_from_json(json.loads(json.dumps(sent))))
            assert again.items() <= sent.items()  # fields that do not belong to the kind are dropped


@pytest.mark.parametrize(
    "event",
    [
        tap(1, step="a", elapsed_ms=900),
        tap(2, EventKind.UNDO, undoes=tap(1).event_id),
        tap(3, EventKind.MOVE, step="a", before="b"),
        tap(4, EventKind.NOTE, step="a", text="stür\n—"),
        tap(5, EventKind.RATING, rating=4),
        tap(6, EventKind.PROMPT, step="c"),
        tap(7, EventKind.START),
        tap(8, EventKind.STOP),
        tap(9, EventKind.SPOT_WORD, seen=False, text="Not so."),
        tap(10, EventKind.SPOT_WORD, seen=True),
        tap(11, EventKind.FAULT, step="k", lot="L 204", text="No cycling."),
    ],
)
def test_there_and_back_exactly(event: ObservationEvent) -> None:
    assert event_from_json(json.loads(json.dumps(event_to_json(event)))) == event


def test_ids_with_hyphens_and_times_with_offsets_are_read() -> None:
    sent = GOOD | {
        "event_id": "0F8FAD5B-D9CB-469F-A165-70867728950E",
        "device_time": "2027-03-14T10:30:07.250+01:00",
    }
    read = event_from_json(sent)
    assert read.event_id == "0f8fad5bd9cb469fa16570867728950e"
    assert read.device_time.isoformat() == "2027-03-14T09:30:07.250000+00:00"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"event_id": "12"}, "event_id"),
        ({"event_id": 12}, "event_id"),
        ({"device_id": "a b"}, "device_id"),
        ({"device_id": ""}, "device_id"),
        ({"sequence": -1}, "sequence"),
        ({"sequence": True}, "sequence"),
        ({"sequence": 2**53}, "sequence"),
        ({"sequence": "7"}, "sequence"),
        ({"device_time": "2027-03-14T09:30:07"}, "device_time"),
        ({"device_time": "20270314T093007Z"}, "device_time"),
        ({"device_time": "2027-02-30T09:30:07Z"}, "device_time"),
        ({"device_time": "0001-01-01T00:00:00+23:59"}, "device_time"),
        ({"kind": "erase"}, "kind"),
        ({"kind": ["mark"]}, "kind"),
        ({"step": "bb"}, "step"),
        ({"step": ""}, "step"),
        ({"mark": "perhaps"}, "mark"),
        ({"mark": None}, "mark"),
        ({"kind": "undo"}, "undoes"),
        ({"kind": "rating", "rating": 6}, "rating"),
        ({"kind": "rating", "rating": 0}, "rating"),
        ({"kind": "spot_word"}, "seen"),
        ({"kind": "spot_word", "seen": 1}, "seen"),
        ({"kind": "fault", "text": "x"}, "lot"),
        ({"kind": "fault", "text": "x", "lot": "x" * 65}, "lot"),
        ({"kind": "fault", "lot": "L 1", "text": " "}, "text"),
        ({"kind": "note", "text": "x" * 2001}, "text"),
        ({"kind": "note", "text": "\x00"}, "text"),
        ({"kind": "note", "text": "\ud800"}, "text"),
        ({"elapsed_ms": 1.5}, "elapsed_ms"),
        ({"colour": "red"}, "event"),
    ],
)
def test_what_is_refused_names_its_field(change: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        event_from_json(GOOD | change)
    assert refused.value.field == field
    assert "left out" in str(refused.value)
    str(refused.value).encode()


@given(PLAIN_JSON, st.dictionaries(st.sampled_from(sorted(GOOD)), PLAIN_JSON))
def test_nothing_a_device_sends_breaks_the_reader(anything: object, change: dict[str, Any]) -> None:
    fields = []
    for sent in (anything, GOOD | change):
        try:
            event_from_json(sent)
        except BadInput as refused:
            fields.append(refused.field)
    assert all(fields)
