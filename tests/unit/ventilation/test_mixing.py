"""Mixtures balance there and back, and each device mixes by the law of its profile."""

import pytest
from demo_profiles import device
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import mixing
from quizapp.ventilation.ranges import OutOfRangeError

A, B = device("tv-a-1"), device("tv-b-1")


@given(st.floats(0.5, 30), st.floats(0.22, 1))
def test_a_mixture_made_is_the_mixture_measured(oxygen, share):
    total = mixing.total_from_oxygen_l_min(oxygen, share)
    assert mixing.fio2_fraction(oxygen, total - oxygen) == pytest.approx(share)
    assert mixing.oxygen_in_total_l_min(total, share) == pytest.approx(oxygen)
    assert mixing.air_per_oxygen(share) == pytest.approx((total - oxygen) / oxygen, abs=1e-9)


@pytest.mark.parametrize(
    ("percent", "parts"), [(24, 25.33), (28, 10.29), (31, 6.90), (35, 4.64), (40, 3.16), (50, 1.72), (60, 1.03)]
)
def test_air_to_oxygen_exact_beside_the_rounded_ratios_of_respiratory_care_texts(percent, parts):
    assert mixing.air_per_oxygen(percent / 100) == pytest.approx(parts, abs=0.005)


def test_precision_work_takes_another_air():
    assert mixing.fio2_fraction(0, 10, 0.2095) == pytest.approx(0.2095)
    assert mixing.air_per_oxygen(0.6, 0.2095) == pytest.approx(0.4 / 0.3905)


def test_sixty_percent_of_thirty_needs_less_than_eighteen():
    assert mixing.oxygen_in_total_l_min(30, 0.6) == pytest.approx(14.8, abs=0.02)


def test_a_blender_saves_what_it_does_not_use():
    used = mixing.oxygen_in_total_l_min(20, 0.6) * 30
    assert mixing.oxygen_saved_l(20, 0.6, 30) == pytest.approx(20 * 30 - used)
    assert mixing.oxygen_saved_l(20, 1.0, 30) == pytest.approx(0)


def test_where_air_is_added_the_oxygen_stays_and_where_the_total_is_held_the_total_does():
    added, held = mixing.mixed_flow(A, 18, 0.6), mixing.mixed_flow(B, 18, 0.6)
    assert added.oxygen_l_min == 18
    assert added.total_l_min == pytest.approx(18 * 0.79 / 0.39)
    assert held.total_l_min == 18
    assert held.oxygen_l_min == pytest.approx(18 * 0.39 / 0.79)


def test_the_flow_to_set_for_a_total_gives_that_total():
    needed = mixing.set_flow_for_total_l_min(A, 18, 0.6)
    assert mixing.mixed_flow(A, needed, 0.6).total_l_min == pytest.approx(18)
    assert mixing.set_flow_for_total_l_min(B, 18, 0.6) == pytest.approx(18)
    with pytest.raises(OutOfRangeError, match="8 to 20"):
        mixing.set_flow_for_total_l_min(A, 14, 0.6)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: mixing.fio2_fraction(-1, 5), "oxygen flow"),
        (lambda: mixing.fio2_fraction(0, 0), "total flow"),
        (lambda: mixing.air_per_oxygen(0.21), "oxygen share"),
        (lambda: mixing.air_per_oxygen(60), "oxygen share"),
        (lambda: mixing.total_from_oxygen_l_min(0, 0.6), "oxygen flow"),
        (lambda: mixing.oxygen_in_total_l_min(20, 0.2), "oxygen share"),
        (lambda: mixing.oxygen_saved_l(20, 0.6, -1), "duration"),
        (lambda: mixing.mixed_flow(A, 18, 0.59), "TV-A revision 1"),
        (lambda: mixing.mixed_flow(B, 18, 0.44), "TV-B revision 1"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
