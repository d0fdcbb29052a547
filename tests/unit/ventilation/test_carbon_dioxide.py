"""Carbon dioxide: targets reached are the targets asked for, and dead space is never forgotten."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation import carbon_dioxide as co2
from quizapp.ventilation.ranges import OutOfRangeError

VOLUME = st.floats(320, 700)
DEAD = st.floats(100, 220)
RATE = st.floats(8, 24)
PRESSURE = st.floats(25, 80)


def arterial(volume, dead, rate, output=200):
    return co2.arterial_co2_mmhg(output, co2.alveolar_ventilation_l_min(volume, dead, rate))


@given(VOLUME, DEAD, RATE, PRESSURE)
def test_the_rate_for_a_target_reaches_it(volume, dead, rate, wanted):
    needed = co2.rate_for_target_per_min(rate, arterial(volume, dead, rate), wanted)
    assert arterial(volume, dead, needed) == pytest.approx(wanted)


@given(VOLUME, DEAD, RATE, PRESSURE)
def test_the_volume_for_a_target_reaches_it(volume, dead, rate, wanted):
    needed = co2.volume_for_target_ml(volume, dead, arterial(volume, dead, rate), wanted)
    assert arterial(needed, dead, rate) == pytest.approx(wanted)


@given(VOLUME, DEAD, RATE, st.floats(0.75, 1.2))
def test_the_rate_for_a_changed_volume_keeps_carbon_dioxide(volume, dead, rate, change):
    needed = co2.rate_for_volume_change_per_min(rate, volume, volume * change, dead)
    assert arterial(volume * change, dead, needed) == pytest.approx(arterial(volume, dead, rate))


@given(st.floats(100, 400), PRESSURE)
def test_ventilation_for_a_pressure_and_back(output, pressure):
    assert co2.arterial_co2_mmhg(output, co2.ventilation_for_co2_l_min(output, pressure)) == pytest.approx(pressure)


@given(PRESSURE, st.floats(2, 10), st.floats(2, 10))
def test_pressure_times_ventilation_stays(pressure, before, after):
    changed = co2.co2_after_change(pressure, before, after)
    assert changed * after == pytest.approx(pressure * before)
    assert co2.ventilation_for_target_l_min(before, pressure, changed) == pytest.approx(after)


def test_halved_compliance_at_an_unchanged_minute_volume_own_model():
    """VA 4.71 for 7.12 L/min: PaCO2 x 1.51, where minute volume would say no change."""
    assert co2.co2_after_change(1, 7.12, 4.71) == pytest.approx(1.51, abs=0.005)


def test_dead_space_two_ways():
    assert co2.dead_space_fraction(500, 150) == 0.3
    assert co2.dead_space_fraction_from_co2(40, 28) == pytest.approx(0.3)


def test_the_gradient_is_added_and_may_be_negative():
    assert co2.arterial_from_end_tidal_mmhg(35, 4) == 39
    assert co2.arterial_from_end_tidal_mmhg(35, -1) == 34


@given(st.floats(1, 12))
def test_kilopascals_and_back(kpa):
    assert co2.kpa_from_mmhg(co2.mmhg_from_kpa(kpa)) == pytest.approx(kpa)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: co2.alveolar_ventilation_l_min(150, 150, 12), "does not clear"),
        (lambda: co2.alveolar_ventilation_l_min(500, -1, 12), "dead space"),
        (lambda: co2.alveolar_ventilation_l_min(500, 150, 0), "rate"),
        (lambda: co2.dead_space_fraction(500, 500), "does not clear"),
        (lambda: co2.dead_space_fraction_from_co2(30, 40), "mixed expired"),
        (lambda: co2.arterial_co2_mmhg(0, 5), "CO2 output"),
        (lambda: co2.arterial_co2_mmhg(200, 0), "alveolar ventilation"),
        (lambda: co2.rate_for_target_per_min(12, 40, 0), "CO2 wanted"),
        (lambda: co2.volume_for_target_ml(400, 150, 0, 40), "CO2 now"),
        (lambda: co2.arterial_from_end_tidal_mmhg(0, 4), "end-tidal"),
        (lambda: co2.exchange_ratio(200, 0), "oxygen uptake"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
