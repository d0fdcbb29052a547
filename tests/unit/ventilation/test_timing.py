"""Rate, phases and ratio go there and back; counting slips are told apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import timing
from quizapp.ventilation.ranges import OutOfRangeError

SECONDS = st.floats(0.1, 20)


@given(SECONDS, SECONDS)
def test_phases_to_rate_and_ratio_and_back(inflation_s, expiration_s):
    rate = timing.rate_per_min(inflation_s, expiration_s)
    parts = timing.expiration_per_inflation(inflation_s, expiration_s)
    assert timing.cycle_time_s(rate) == pytest.approx(inflation_s + expiration_s)
    assert timing.inflation_from_ratio_s(rate, parts) == pytest.approx(inflation_s)
    assert timing.expiration_from_ratio_s(rate, parts) == pytest.approx(expiration_s)
    assert timing.expiration_from_rate_s(rate, inflation_s) == pytest.approx(expiration_s)
    assert timing.duty_fraction(inflation_s, expiration_s) == pytest.approx(1 / (1 + parts))


def test_the_worked_breath_of_the_model_notes():
    """Ti 1.25, Te 2.5: 16/min, 1:2, a third of the cycle (arithmetic)."""
    assert timing.rate_per_min(1.25, 2.5) == 16
    assert timing.expiration_per_inflation(1.25, 2.5) == 2
    assert timing.duty_fraction(1.25, 2.5) == pytest.approx(1 / 3)


@given(st.floats(50, 900), st.floats(4, 60))
def test_volume_to_time_at_a_flow_and_back(volume_ml, flow_l_min):
    seconds = timing.inflation_from_flow_s(volume_ml, flow_l_min)
    assert timing.volume_from_flow_ml(flow_l_min, seconds) == pytest.approx(volume_ml)


def test_ten_counts_in_38_seconds_are_nine_breaths():
    """A stopwatch started on count one says 14.2, ten whole breaths say 15.8 (arithmetic)."""
    assert timing.rate_from_stopwatch_per_min(10, 38) == pytest.approx(14.2, abs=0.05)
    assert timing.counted_rate_per_min(10, 38) == pytest.approx(15.8, abs=0.05)


def test_a_constant_flow_reaches_the_lungs_for_its_share_of_the_cycle():
    assert timing.minute_volume_from_flow_l_min(18, 2) == 6
    assert timing.minute_volume_l_min(500, 12) == 6


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: timing.cycle_time_s(0), "rate"),
        (lambda: timing.rate_per_min(0, 2), "inflation time"),
        (lambda: timing.rate_per_min(1, -2), "expiratory time"),
        (lambda: timing.expiration_from_rate_s(30, 2), "expiratory time"),
        (lambda: timing.expiration_per_inflation(float("nan"), 2), "inflation time"),
        (lambda: timing.inflation_from_ratio_s(12, 0), "expiratory parts"),
        (lambda: timing.inflation_from_flow_s(500, 0), "flow"),
        (lambda: timing.counted_rate_per_min(0, 30), "number of breaths"),
        (lambda: timing.rate_from_stopwatch_per_min(1, 30), "counts"),
        (lambda: timing.minute_volume_l_min(float("inf"), 12), "tidal volume"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
