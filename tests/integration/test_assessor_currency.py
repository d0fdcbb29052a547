"""An assessor is current for a procedure when each of its competencies is and nothing stands against the person."""

from __future__ import annotations

from datetime import date

import pytest

from quizapp.services.assessor_currency import assessor_currency
from tests.observing import checklists, put_in_service, require, set_standing, sign_off
from tests.small_service import SmallService


def is_current(small: SmallService, *competencies: str, name: str = "tor") -> bool:
    with small.acting(name) as act:
        current = assessor_currency(checklists())
        return current(act, person_id=small.person_id(name), competencies=competencies)


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    require(small, "C2", "C3", "C8")
    return small


def test_each_competency_of_the_procedure_counts_and_no_other(ready: SmallService) -> None:
    assert not is_current(ready, "C8")
    sign_off(ready, "tor", "C8")
    assert is_current(ready, "C8")
    assert not is_current(ready, "C2", "C8")
    assert not is_current(ready, "C8", name="una")


@pytest.mark.parametrize(("until", "expected"), [(date(2026, 3, 1), False), (date(2026, 3, 2), True)])
def test_the_last_valid_day_is_inclusive(ready: SmallService, until: date, *, expected: bool) -> None:
    sign_off(ready, "tor", "C8", until=until)
    assert is_current(ready, "C8") is expected


@pytest.mark.parametrize("kind", ["suspended", "withdrawn", "paused", "restricted"])
def test_whoever_is_away_or_restricted_is_not_current(ready: SmallService, kind: str) -> None:
    sign_off(ready, "tor", "C8")
    set_standing(ready, "tor", kind)
    assert not is_current(ready, "C8")


def test_a_sign_off_under_conditions_is_not_enough(ready: SmallService) -> None:
    sign_off(ready, "tor", "C8", conditions="works with a current colleague")
    assert not is_current(ready, "C8")
