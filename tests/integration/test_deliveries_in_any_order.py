"""The same taps in batches of any size, order and repetition: one state, through the service and its database.

60 deliveries in the ordinary run; 10,000 by `python3 dev.py test -m soak -k batches_in_any_order`.
"""

from __future__ import annotations

import random
from typing import Any

import pytest

from quizapp.assessment.observation_events import EventKind, state_hash
from quizapp.assessment.observation_state import StepMark
from quizapp.services.act import Act
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.record_observation_events import record_observation_events
from tests.observing import Phone, opened, put_in_service
from tests.small_service import SmallService

COUNTS = [60, pytest.param(10_000, marks=pytest.mark.soak)]


def a_whole_observation(small: SmallService) -> list[dict[str, Any]]:
    """Two devices; marks, corrections, moves, a note, a prompt, the judgement, the word on the spot, a fault."""
    phone, other = Phone(small.now), Phone(small.now, device_id="019cae01-phone")
    phone.start()
    wrong = phone.mark("c", after_s=2)
    for place, step in enumerate("abefg", 1):
        phone.mark(step, after_s=3 + 4 * place)
    undo = phone.tap(EventKind.UNDO, undoes=wrong["event_id"], after_s=24)
    phone.tap(EventKind.UNDO, undoes=undo["event_id"], after_s=25)
    phone.tap(EventKind.PROMPT, step="e", after_s=26)
    phone.tap(EventKind.NOTE, step="e", text="looked twice", after_s=27)
    phone.mark("h", StepMark.NOT_SEEN, after_s=30)
    phone.tap(EventKind.MOVE, step="g", before="f", after_s=31)
    other.mark("h", after_s=40)
    other.mark("i", after_s=42)
    other.tap(EventKind.FAULT, step="i", lot="L 204", text="No cycling.", after_s=43)
    other.tap(EventKind.RATING, rating=3, after_s=60)
    other.tap(EventKind.SPOT_WORD, seen=True, text="Agreed.", after_s=61)
    other.tap(EventKind.STOP, after_s=62)
    return phone.made + other.made


def delivered(act: Act, sheet: str, taps: list[dict[str, Any]], chance: random.Random) -> str:
    """Send the taps, a third of them twice, shuffled, in batches of any size; return the state they add up to."""
    mixed = taps + chance.sample(taps, len(taps) // 3)
    chance.shuffle(mixed)
    while mixed:
        size = chance.randint(1, 12)
        batch, mixed = mixed[:size], mixed[size:]
        outcomes = record_observation_events(act, observation_id=sheet, sent=batch)
        assert {one.taken.value for one in outcomes} <= {"saved", "known"}
    return state_hash(own_sheet(act, sheet).state)


@pytest.mark.parametrize("count", COUNTS)
def test_batches_in_any_order_give_one_state(small_sqlite: SmallService, count: int) -> None:
    put_in_service(small_sqlite)
    sheet, taps = opened(small_sqlite), a_whole_observation(small_sqlite)
    chance, found = random.Random(4), set()
    with small_sqlite.acting("tor") as act:
        for _ in range(count):
            unit = act.session.begin_nested()
            found.add(delivered(act, sheet, taps, chance))
            unit.rollback()
            act.session.expire_all()
    assert len(found) == 1
