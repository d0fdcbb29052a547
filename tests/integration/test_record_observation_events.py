"""Taps arrive twice, late, out of order or broken; the sheet says the same whatever the delivery."""

from __future__ import annotations

import random
from typing import Any

import pytest
from sqlalchemy import func, select

from quizapp.assessment.observation_events import EventKind, state_hash
from quizapp.assessment.observation_state import StepMark
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.observation_sheet import Sheet, own_sheet
from quizapp.services.record_observation_events import MOST_AT_ONCE
from quizapp.services.record_tap import record_tap
from quizapp.store.audit import AuditRow
from quizapp.store.observations import LateEvent, ObservationEvent
from tests.observing import Phone, locked, opened, performed, put_in_service, sent
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def sheet(small: SmallService, observation_id: str) -> Sheet:
    with small.acting("tor") as act:
        return own_sheet(act, observation_id)


def counted(small: SmallService, kind: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(kind)) or 0


def a_stormy_hour(small: SmallService) -> list[dict[str, Any]]:
    """Two phones, a prompt, a mark taken back, a correction, a note and a rating."""
    phone, other = Phone(small.now), Phone(small.now, device_id="019cae01-phone")
    phone.start()
    wrong = phone.mark("c", after_s=2)
    phone.mark("a", after_s=3)
    phone.tap(EventKind.UNDO, undoes=wrong["event_id"], after_s=4)
    phone.mark("b", after_s=8)
    phone.tap(EventKind.PROMPT, step="e", after_s=20)
    phone.mark("e", after_s=21)
    phone.mark("h", StepMark.NOT_SEEN, after_s=25)
    phone.tap(EventKind.NOTE, step="e", text="looked twice; 75 µm? \u201cyes\u201d", after_s=26)
    other.mark("h", after_s=40)
    other.tap(EventKind.RATING, rating=3, after_s=60)
    other.tap(EventKind.STOP, after_s=61)
    return phone.made + other.made


def test_every_permutation_and_repetition_gives_the_same_state(ready: SmallService) -> None:
    taps = a_stormy_hour(ready)
    expected = None
    for seed in range(6):
        observation_id = opened(ready)
        mixed = [dict(tap, event_id=_renamed(tap, seed), **_undo(tap, seed)) for tap in taps] * 2
        random.Random(seed).shuffle(mixed)
        for start in range(0, len(mixed), 5):
            sent(ready, observation_id, mixed[start : start + 5])
        state = sheet(ready, observation_id).state
        said = (state.marks, state.performed, state.prompted, state.done_at_s, state.rating, state.corrected)
        expected = expected or said
        assert said == expected
    assert expected is not None
    assert expected[1] == ("a", "b", "e", "h")


def _renamed(tap: dict[str, Any], seed: int) -> str:
    return f"{seed:04x}{tap['event_id'][4:]}"


def _undo(tap: dict[str, Any], seed: int) -> dict[str, str]:
    return {"undoes": f"{seed:04x}{tap['undoes'][4:]}"} if "undoes" in tap else {}


def test_a_tap_that_arrives_twice_is_stored_once(ready: SmallService) -> None:
    observation_id = opened(ready)
    phone = Phone(ready.now)
    taps = [phone.start(), phone.mark("b", after_s=4)]
    assert sent(ready, observation_id, taps) == ["saved", "saved"]
    once = state_hash(sheet(ready, observation_id).state)
    assert sent(ready, observation_id, [*taps, taps[0]]) == ["known", "known", "known"]
    assert counted(ready, ObservationEvent) == 2
    assert state_hash(sheet(ready, observation_id).state) == once


def test_a_repeated_delivery_leaves_no_second_audit_row(ready: SmallService) -> None:
    observation_id = opened(ready)
    tap = Phone(ready.now).start()
    sent(ready, observation_id, [tap])
    before = counted(ready, AuditRow)
    sent(ready, observation_id, [tap])
    assert counted(ready, AuditRow) == before


def test_a_broken_tap_is_refused_alone_and_the_others_are_kept(ready: SmallService) -> None:
    observation_id = opened(ready)
    phone = Phone(ready.now)
    good = phone.mark("b")
    broken = [{"event_id": "x"}, "nothing", dict(good, mark="maybe"), dict(phone.mark("d"), step="z"), None]
    assert sent(ready, observation_id, [*broken, good]) == ["refused"] * 5 + ["saved"]
    assert sheet(ready, observation_id).state.performed == ("b",)


def test_the_first_of_two_taps_with_one_id_counts_and_the_other_is_kept_apart_once(ready: SmallService) -> None:
    observation_id = opened(ready)
    phone = Phone(ready.now)
    first = phone.mark("b")
    forged = dict(first, step="c")
    assert sent(ready, observation_id, [first]) == ["saved"]
    assert sent(ready, observation_id, [forged]) == ["late"]
    assert sent(ready, observation_id, [forged]) == ["late"]
    assert sheet(ready, observation_id).state.performed == ("b",)
    assert counted(ready, LateEvent) == 1


def test_a_tap_for_a_locked_sheet_is_kept_apart_with_its_reason(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    before = state_hash(sheet(ready, observation_id).state)
    late = Phone(ready.now, device_id="late").mark("k")
    assert sent(ready, observation_id, [late]) == ["late"]
    assert sent(ready, observation_id, [late]) == ["late"]
    assert state_hash(sheet(ready, observation_id).state) == before
    with ready.database.reading() as session:
        (row,) = session.scalars(select(LateEvent))
    assert (row.body["step"], row.reason) == ("k", "arrived after the sheet was locked")


def test_nobody_sends_taps_for_another_assessors_sheet(ready: SmallService) -> None:
    observation_id = opened(ready)
    tap = Phone(ready.now).start()
    for by in ("una", "mira", "ines"):
        with pytest.raises(NotFound):
            sent(ready, observation_id, [tap], by=by)
    assert counted(ready, ObservationEvent) == 0


def test_a_tap_never_moves_to_another_sheet(ready: SmallService) -> None:
    first, second = opened(ready), opened(ready)
    tap = Phone(ready.now).start()
    assert sent(ready, first, [tap]) == ["saved"]
    assert sent(ready, second, [tap]) == ["refused"]


def test_too_many_taps_at_once_are_refused_whole(ready: SmallService) -> None:
    observation_id = opened(ready)
    with pytest.raises(BadInput, match="send at most"):
        sent(ready, observation_id, [{}] * (MOST_AT_ONCE + 1))


def test_the_same_form_sent_twice_is_one_tap_and_another_step_is_another(ready: SmallService) -> None:
    observation_id = opened(ready)
    for step in ("b", "b", "c"):
        with ready.acting("tor") as act:
            record_tap(
                act, observation_id=observation_id, key="k" * 24, kind=EventKind.MARK, step=step, mark=StepMark.DONE
            )
    assert counted(ready, ObservationEvent) == 2


def test_a_form_cannot_mark_a_locked_sheet(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with ready.acting("tor") as act, pytest.raises(Conflict, match="locked"):
        record_tap(act, observation_id=observation_id, key="k" * 24, kind=EventKind.PROMPT, step="b")
    assert counted(ready, LateEvent) == 0
