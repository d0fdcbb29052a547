"""What formulas learn about the device of a profile: our own model's table, and what is refused."""

from decimal import Decimal

import pytest

from quizapp.assessment.formula import FormulaFault, parse_formula
from quizapp.assessment.profile_values import (
    PROFILE_NUMBERS,
    PROFILE_TRUTHS,
    PROFILE_WORDS,
    profile_values,
    profile_words,
)
from quizapp.content.profiles import read_profiles
from tests.sample_families import CHECKOUT

PROFILES = {slug: file.profile for slug, file in read_profiles(CHECKOUT)[0].items()}
NAMES = {"profile": PROFILES["tv-a-1"], **profile_values(PROFILES["tv-a-1"])}
REFERENCE = "18, 20, 1, 0.5, 40, 8, 0"


def ask(function: str, numbers: str = REFERENCE) -> Decimal:
    return parse_formula(f"device_{function}({numbers})").number(NAMES)


@pytest.mark.parametrize(
    ("numbers", "volume", "rate", "inflation", "minute", "alveolar"),
    [
        (REFERENCE, 523, "11.0", "1.74", "5.8", "4.1"),
        ("18, 20, 1, 0.5, 25, 8, 0", 327, "17.7", "1.09", "5.8", "3.1"),
        ("18, 20, 1, 0.5, 16, 8, 0", 209, "27.6", "0.70", "5.8", "1.6"),
        ("18, 20, 1, 0.5, 40, 20, 0", 347, "14.1", "1.16", "4.9", "2.8"),
        ("10, 20, 1, 0.5, 40, 8, 0", 565, "8.3", "3.39", "4.7", "3.4"),
        ("18, 26, 1, 0.5, 40, 8, 0", 708, "9.8", "2.36", "6.9", "5.5"),
        ("18, 20, 0.6, 0.5, 40, 8, 0", 424, "15.1", "0.70", "6.4", "4.1"),
    ],
)
def test_the_reference_table(numbers: str, volume: int, rate: str, inflation: str, minute: str, alveolar: str) -> None:
    """Own model, reference lung, TV-A revision 1; our own figures, no published source. Rounded as the table prints."""
    assert abs(ask("volume_ml", numbers) - volume) <= Decimal("0.5")
    assert abs(ask("rate_per_min", numbers) - Decimal(rate)) <= Decimal("0.05")
    assert abs(ask("inflation_s", numbers) - Decimal(inflation)) <= Decimal("0.005")
    assert abs(ask("minute_volume_l_min", numbers) - Decimal(minute)) <= Decimal("0.05")
    assert abs(ask("alveolar_l_min", numbers) - Decimal(alveolar)) <= Decimal("0.05")


def test_a_stopped_device_has_a_state_and_a_parked_needle_but_no_times() -> None:
    heavy_leak = "18, 20, 1, 0.5, 40, 8, 30"
    assert ask("state") == 0
    assert ask("state", heavy_leak) == 1
    assert ask("volume_ml", heavy_leak) == 0
    assert ask("parked_cmh2o", heavy_leak) == Decimal(9)
    with pytest.raises(FormulaFault, match="does not cycle"):
        ask("expiration_s", heavy_leak)
    with pytest.raises(FormulaFault, match="device_volume_ml refuses these numbers"):
        ask("volume_ml", "18, 99, 1, 0.5, 40, 8, 0")


def test_every_profile_gives_its_numbers_truths_and_words() -> None:
    for profile in PROFILES.values():
        values = profile_values(profile)
        numbers = {name.removeprefix("profile.") for name, value in values.items() if isinstance(value, Decimal)}
        assert numbers <= PROFILE_NUMBERS
        assert PROFILE_NUMBERS - numbers <= {"baseline_ratio", "baseline_fixed_cmh2o"}
        assert {name.removeprefix("profile.") for name in values} - numbers == PROFILE_TRUTHS
        assert {name.removeprefix("profile.") for name in profile_words(profile)} <= PROFILE_WORDS
    assert profile_values(PROFILES["tv-a-1"])["profile.baseline_ratio"] == Decimal("0.2")
    assert profile_words(PROFILES["tv-a-2"])["profile.baseline_ratio"] == "0.18"
    assert profile_values(PROFILES["tv-b-1"])["profile.supply_draw_is_continuous"] is False
