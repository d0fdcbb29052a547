"""What the person observed said on the device, and a device that failed there, once they arrive."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.observation_events import EventKind
from quizapp.services.discard_observation import discard_observation
from quizapp.services.lock_observation import lock_observation
from quizapp.services.observation_sheet import Sheet, own_sheet
from quizapp.store.observations import FaultReport, LateEvent
from tests.observing import Phone, locked, opened, performed, put_in_service, sent
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def locked_after(small: SmallService, *, seen: bool, ahead: timedelta = timedelta()) -> Sheet:
    """The person says so on the device; the assessor's form later says the opposite."""
    sheet = opened(small)
    phone = performed(small, sheet)
    phone.now += ahead
    sent(small, sheet, [phone.tap(EventKind.SPOT_WORD, seen=seen, text="As it was.", after_s=60)])
    with small.acting("tor", at=small.now + timedelta(minutes=5)) as act:
        lock_observation(
            act, observation_id=sheet, global_rating=4, person_confirms=not seen, person_comment="Something else."
        )
    with small.acting("tor") as act:
        return own_sheet(act, sheet)


@pytest.mark.parametrize("seen", [True, False])
def test_the_word_on_the_spot_stands_whatever_the_form_says_later(ready: SmallService, seen: bool) -> None:
    found = locked_after(ready, seen=seen)
    assert found.person_comment == "As it was."
    assert found.confirmed_at == (ready.now + timedelta(seconds=60) if seen else None)


def test_a_device_whose_clock_is_ahead_confirms_nothing_in_the_future(ready: SmallService) -> None:
    assert locked_after(ready, seen=True, ahead=timedelta(hours=1)).confirmed_at == ready.now + timedelta(minutes=5)


def test_a_word_before_the_last_mark_does_not_count(ready: SmallService) -> None:
    sheet = opened(ready)
    phone = performed(ready, sheet, "abc")
    sent(ready, sheet, [phone.tap(EventKind.SPOT_WORD, seen=True), phone.mark("d")])
    with ready.acting("tor") as act:
        assert own_sheet(act, sheet).state.spot_word is None


def counted(small: SmallService, kind: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(kind)) or 0


def test_a_fault_is_reported_once_and_never_moves_to_another_sheet(ready: SmallService) -> None:
    first, second = opened(ready), opened(ready)
    fault = Phone(ready.now).tap(EventKind.FAULT, step="b", lot="L 204", text="No cycling.")
    assert sent(ready, first, [fault, fault]) == ["saved", "known"]
    assert sent(ready, first, [fault]) == ["known"]
    assert sent(ready, second, [fault]) == ["refused"]
    assert counted(ready, FaultReport) == 1


def test_a_fault_that_comes_after_the_lock_or_the_discard_is_reported_all_the_same(ready: SmallService) -> None:
    """It is about the device, which may still be in somebody's pack."""
    closed, thrown_away = opened(ready), opened(ready)
    performed(ready, closed)
    locked(ready, closed)
    with ready.acting("tor") as act:
        discard_observation(act, observation_id=thrown_away, reason="Wrong person.")
    for number, sheet in enumerate((closed, thrown_away)):
        fault = Phone(ready.now, device_id=f"{number}").tap(EventKind.FAULT, lot="L 204", text="No cycling.")
        assert sent(ready, sheet, [fault]) == ["saved"]
    assert (counted(ready, FaultReport), counted(ready, LateEvent)) == (2, 0)
