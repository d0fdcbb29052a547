"""What an estimate may say aloud: a concern, an earlier booster, or nothing. It never says more than that."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from quizapp.assessment.competence_settings import CONCERN_BELOW_FRACTION, PRACTISE_BELOW_FRACTION

SOON_DAYS = 60
"""A booster is proposed so long ahead, as a renewal is. Ours (policy)."""


class Advice(StrEnum):
    """What is worth a word, the most pressing first."""

    CONCERN = "concern"
    BOOSTER_NOW = "booster_now"
    BOOSTER_SOON = "booster_soon"
    NOTHING = "nothing"

    @property
    def words(self) -> str:
        """The advice as people say it."""
        return WORDS[self]


WORDS = {
    Advice.CONCERN: "a concern",
    Advice.BOOSTER_NOW: "an earlier booster now",
    Advice.BOOSTER_SOON: "an earlier booster soon",
    Advice.NOTHING: "nothing",
}


def may_need_advice(*, chance_now_fraction: float, chance_soon_fraction: float) -> bool:
    """Whether a chance (0 to 1) lies under the mark today or will within the days looked ahead."""
    return min(chance_now_fraction, chance_soon_fraction) < PRACTISE_BELOW_FRACTION


def advice(*, chance_fraction: float, under_mark_on: date | None, today: date, signed_off_until: date | None) -> Advice:
    """Give what is worth a word: today's chance (0 to 1), the day it falls under the mark, the last valid day.

    A booster that would come after the sign-off has ended anyhow is not an earlier one.
    """
    if chance_fraction < CONCERN_BELOW_FRACTION:
        return Advice.CONCERN
    if chance_fraction < PRACTISE_BELOW_FRACTION:
        return Advice.BOOSTER_NOW
    if under_mark_on is None or under_mark_on > today + timedelta(days=SOON_DAYS):
        return Advice.NOTHING
    is_earlier = signed_off_until is None or under_mark_on < signed_off_until
    return Advice.BOOSTER_SOON if is_earlier else Advice.NOTHING
