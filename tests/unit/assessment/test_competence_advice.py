from __future__ import annotations

from datetime import date, timedelta

import pytest

from quizapp.assessment.competence_advice import SOON_DAYS, Advice, advice, may_need_advice

TODAY = date(2026, 3, 2)
YEAR = TODAY + timedelta(days=365)


@pytest.mark.parametrize(
    ("chance", "falls_in", "until", "expected"),
    [
        (0.59, 0, YEAR, Advice.CONCERN),
        (0.60, 0, YEAR, Advice.BOOSTER_NOW),
        (0.799, 0, YEAR, Advice.BOOSTER_NOW),
        (0.80, SOON_DAYS, YEAR, Advice.BOOSTER_SOON),
        (0.80, SOON_DAYS + 1, YEAR, Advice.NOTHING),
        (0.95, None, YEAR, Advice.NOTHING),
        (0.85, 30, TODAY + timedelta(days=30), Advice.NOTHING),
        (0.85, 30, TODAY + timedelta(days=31), Advice.BOOSTER_SOON),
        (0.85, 30, None, Advice.BOOSTER_SOON),
        (0.40, 0, None, Advice.CONCERN),
    ],
)
def test_what_is_worth_a_word(chance: float, falls_in: int | None, until: date | None, expected: Advice) -> None:
    falls = None if falls_in is None else TODAY + timedelta(days=falls_in)
    assert advice(chance_fraction=chance, under_mark_on=falls, today=TODAY, signed_off_until=until) is expected


def test_what_stays_above_the_mark_needs_no_closer_look() -> None:
    assert not may_need_advice(chance_now_fraction=0.95, chance_soon_fraction=0.8)
    assert may_need_advice(chance_now_fraction=0.95, chance_soon_fraction=0.79)
    assert may_need_advice(chance_now_fraction=0.7, chance_soon_fraction=0.9)


def test_every_advice_has_words() -> None:
    assert all(one.words for one in Advice)
