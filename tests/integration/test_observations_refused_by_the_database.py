"""What the services refuse about observations, the database refuses as well, on both kinds."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import delete, update
from sqlalchemy.exc import DatabaseError, IntegrityError

from quizapp.store.observations import Observation, ObservationEvent
from tests.observing import locked, nobody_is_current, opened, performed, put_in_service, signed
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def locked_sheet(small: SmallService, **changed: Any) -> str:
    observation_id = opened(small, **changed)
    performed(small, observation_id)
    locked(small, observation_id)
    return observation_id


def write(small: SmallService, observation_id: str, **values: object) -> None:
    """Past every service, straight into the table."""
    with small.database.writing() as session:
        session.execute(update(Observation).where(Observation.id == observation_id).values(**values))


@pytest.mark.parametrize(
    ("signer", "values", "rule"),
    [
        ("tor", {"signer_was_current": True}, "not_current_may_note_only"),
        ("una", {"signer_was_current": False}, "signed_only_when_current"),
        ("mira", {"signer_was_current": True}, "never_signed_by_oneself"),
        ("", {"signer_was_current": True}, "signed_by_somebody"),
        ("una", {"signer_was_current": True, "locked_at": None}, "locked_before_signed"),
    ],
)
def test_a_signature_that_the_rules_forbid_is_refused(
    ready: SmallService, signer: str, values: dict[str, object], rule: str
) -> None:
    """Tor marked this sheet while not current: Tor may have noted, and only Una, who is current, may sign."""
    observation_id = locked_sheet(ready, is_current=nobody_is_current)
    signed_by = ready.person_id(signer) if signer else None
    with pytest.raises(IntegrityError, match=rule):
        write(ready, observation_id, signature_id="5" * 32, signed_by=signed_by, **values)
    write(ready, observation_id, signature_id="5" * 32, signed_by=ready.person_id("una"), signer_was_current=True)


@pytest.mark.parametrize("values", [{"global_rating": 5}, {"signature_id": None, "signed_by": None}])
def test_a_signed_observation_stands(ready: SmallService, values: dict[str, object]) -> None:
    observation_id = locked_sheet(ready)
    signed(ready, observation_id)
    with pytest.raises(DatabaseError, match="append-only"):
        write(ready, observation_id, **values)


def test_a_mark_is_never_changed_or_taken_away(ready: SmallService) -> None:
    locked_sheet(ready)
    one = ObservationEvent.step == "b"
    changes = (update(ObservationEvent).where(one).values(step="z"), delete(ObservationEvent).where(one))
    for change in changes:
        with pytest.raises(DatabaseError, match="append-only"), ready.database.writing() as session:
            session.execute(change)
