"""Two sheets of one performance are one piece of evidence for the estimate, by what an educator decided about them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import select

from quizapp.assessment.competence_settings import Track
from quizapp.assessment.double_settlement import Settlement
from quizapp.psychometrics.competence import Belief
from quizapp.services.competence_calibration import calibration_of_service
from quizapp.services.rebuild_competence import people_in_parts, rebuild_competence
from quizapp.services.settle_double_observation import settle_double_observation
from quizapp.store.competence import CompetenceStateRow
from tests.observing import (
    Phone,
    accept,
    checklists,
    locked,
    opened,
    performed,
    put_in_service,
    require,
    sent,
    sign_off,
    signed,
    watched,
)
from tests.small_service import ZONE, SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    require(small, "C8")
    for name in ("tor", "una"):
        sign_off(small, name, "C8")
    accept(small, "P06")
    return small


def both(small: SmallService, *, second_order: str = "abcdefghij") -> tuple[str, str]:
    """Tor and Una mark one performance, each on an own sheet; both are locked."""
    first = opened(small)
    second = opened(small, by="una", watched=replace(watched(), together_with=first))
    performed(small, first)
    phone = Phone(small.now, device_id="019cae00-tablet")
    phone.start()
    for place, step in enumerate(second_order, 1):
        phone.mark(step, after_s=3 * place)
    sent(small, second, phone.made, by="una")
    locked(small, first)
    locked(small, second, by="una")
    return first, second


def settled(small: SmallService, first: str, outcome: Settlement, stands_id: str = "") -> None:
    with small.acting("ines") as act:
        settle_double_observation(
            act, library=checklists(), performance_id=first, outcome=outcome, stands_id=stands_id,
            reason="The order was seen better from the other side.",
        )  # fmt: skip


def states(small: SmallService) -> list[CompetenceStateRow]:
    with small.database.reading() as session:
        return list(session.scalars(select(CompetenceStateRow)))


def differed(small: SmallService) -> int:
    with small.database.writing() as session:
        (part,) = people_in_parts(session)
        return rebuild_competence(session, small.now, ZONE, part).differed


def test_two_equal_sheets_say_no_more_than_one(ready: SmallService) -> None:
    first, second = both(ready)
    signed(ready, first)
    (alone,) = states(ready)
    signed(ready, second, by="una")
    (together,) = states(ready)
    assert Belief.from_bytes(together.mass).mean == pytest.approx(Belief.from_bytes(alone.mass).mean)
    assert differed(ready) == 0
    with ready.database.reading() as session:
        assert calibration_of_service(session)[Track.PERFORMANCE].outcome_count == 1


def test_of_sheets_that_differ_only_the_one_that_stands_counts(ready: SmallService) -> None:
    first, second = both(ready, second_order="abcd")
    settled(ready, first, Settlement.ONE_STANDS, first)
    signed(ready, second, by="una")
    assert states(ready) == []
    signed(ready, first)
    (row,) = states(ready)
    assert row.evidence_count == 10
    assert differed(ready) == 0


def test_what_is_observed_again_counts_for_nothing(ready: SmallService) -> None:
    first, second = both(ready, second_order="abcd")
    settled(ready, first, Settlement.OBSERVE_AGAIN)
    signed(ready, first)
    signed(ready, second, by="una")
    assert states(ready) == []
    assert differed(ready) == 0
