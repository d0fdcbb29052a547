"""Emptying and trapping: identities, the steady state found by breathing it out, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import lung
from quizapp.ventilation.ranges import OutOfRangeError


@pytest.mark.parametrize(("constants", "percent"), [(1, 63.2), (2, 86.5), (3, 95.0), (4, 98.2), (5, 99.3)])
def test_share_emptied_after_whole_time_constants_physiology_texts(constants, percent):
    assert 100 * lung.emptied_fraction(constants * 0.4, 0.4) == pytest.approx(percent, abs=0.05)


@given(st.floats(0, 0.999), st.floats(0.05, 3))
def test_time_to_empty_and_back(share, tau):
    assert lung.emptied_fraction(lung.time_to_empty_s(share, tau), tau) == pytest.approx(share, abs=1e-12)


@given(st.floats(100, 900), st.floats(0.3, 6), st.floats(0.1, 3), st.floats(10, 100))
def test_the_steady_state_is_where_breathing_it_out_ends(volume, expiration, tau, compliance):
    held = 0.0
    for _ in range(400):
        held = (held + volume) * lung.remaining_fraction(expiration, tau)
    assert lung.trapped_volume_ml(volume, expiration, tau) == pytest.approx(held, rel=1e-6)
    assert lung.intrinsic_peep_cmh2o(volume, expiration, tau, compliance) == pytest.approx(held / compliance, rel=1e-6)
    assert lung.end_inspiratory_volume_ml(volume, expiration, tau) == pytest.approx(held + volume, rel=1e-6)


def test_trapping_in_the_long_run_exceeds_what_one_breath_leaves():
    """VT 500, two time constants: one breath leaves 67.7 mL, the steady value is 78.3 mL (arithmetic)."""
    assert 500 * lung.remaining_fraction(1.0, 0.5) == pytest.approx(67.7, abs=0.05)
    assert lung.trapped_volume_ml(500, 1.0, 0.5) == pytest.approx(78.3, abs=0.05)


def test_time_constant_takes_millilitres():
    assert lung.time_constant_s(20, 60) == pytest.approx(1.2)
    assert lung.emptied_fraction(2.4, 1.2) == pytest.approx(0.865, abs=0.0005)


def test_a_plateau_raised_by_trapping_looks_like_a_stiff_lung():
    """Critical Care 2013, letter cc12561: compliance 95 seen as 81.2 mL/cmH2O."""
    plateau = lung.steady_plateau_cmh2o(
        tidal_volume_ml=650, expiration_s=2.4, resistance_cmh2o_s_l=21, compliance_ml_cmh2o=95
    )
    assert plateau == pytest.approx(9.78, abs=0.02)
    assert 650 / (plateau - (9.78 - 650 / 81.2)) == pytest.approx(81.2, abs=0.3)


def test_the_highest_rate_that_empties_leaves_the_time_constants_asked_for():
    rate = lung.highest_emptying_rate_per_min(1.0, 0.6, 3)
    assert 60 / rate - 1.0 == pytest.approx(1.8)


def test_auto_peep_is_trapped_volume_over_compliance():
    assert lung.auto_peep_cmh2o(200, 50) == 4
    assert lung.auto_peep_cmh2o(0, 50) == 0


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: lung.time_constant_s(0, 50), "resistance"),
        (lambda: lung.time_constant_s(5, -50), "compliance"),
        (lambda: lung.remaining_fraction(-1, 1), "time"),
        (lambda: lung.remaining_fraction(1, 0), "time constant"),
        (lambda: lung.time_to_empty_s(1, 1), "emptied share"),
        (lambda: lung.time_to_empty_s(float("nan"), 1), "emptied share"),
        (lambda: lung.trapped_volume_ml(500, 0, 1), "expiratory time"),
        (lambda: lung.trapped_volume_ml(0, 1, 1), "tidal volume"),
        (lambda: lung.auto_peep_cmh2o(-1, 50), "trapped volume"),
        (lambda: lung.highest_emptying_rate_per_min(1, 0.6, 0), "number of time constants"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
