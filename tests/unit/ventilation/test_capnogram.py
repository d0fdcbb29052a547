"""A strip can be read back: its tops, its baseline, its rate, and the mark of each shape."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation.capnogram import CapnogramShape, Strip, capnogram, co2_mmhg
from quizapp.ventilation.ranges import OutOfRangeError


def strip(shape=CapnogramShape.NORMAL, **changes):
    values = {"end_tidal_mmhg": 38, "rate_per_min": 12, "expiration_parts": 2} | changes
    if shape is CapnogramShape.RAISED_BASELINE:
        values = {"baseline_mmhg": 6} | values
    return Strip(shape=shape, **values)


def at(drawn, moment):
    return co2_mmhg(drawn, moment)


def crossings(trace, level):
    values = trace.co2_mmhg
    return sum(1 for a, b in itertools.pairwise(values) if a < level <= b)


@given(st.floats(18, 70), st.floats(0, 8), st.floats(8, 24), st.floats(1, 4), st.floats(0.6, 1))
def test_the_end_of_a_normal_plateau_is_the_end_tidal_value_and_its_highest(end, low, rate, parts, shoulder):
    drawn = strip(
        end_tidal_mmhg=end, baseline_mmhg=low, rate_per_min=rate, expiration_parts=parts, shoulder_fraction=shoulder
    )
    trace = capnogram(drawn, 15)
    assert max(trace.co2_mmhg) == pytest.approx(end)
    assert min(trace.co2_mmhg) == pytest.approx(low)
    assert all(at(drawn, number * 60 / rate) == pytest.approx(end) for number in (1, 2))


@given(st.integers(8, 24), st.sampled_from([CapnogramShape.NORMAL, CapnogramShape.RISING_PLATEAU]))
def test_rises_counted_in_a_minute_are_the_rate(rate, shape):
    assert crossings(capnogram(strip(shape, rate_per_min=rate), 60), 19) == rate


def test_inflation_and_dead_space_are_free_of_carbon_dioxide():
    drawn = strip()
    inflation_s = 5 / 3
    assert at(drawn, 0.2) == at(drawn, inflation_s) == at(drawn, inflation_s + 0.07 * 10 / 3) == 0
    assert at(drawn, inflation_s + 0.25 * 10 / 3) > 30


def test_bronchospasm_has_no_flat_part():
    normal, steep = strip(), strip(CapnogramShape.RISING_PLATEAU)
    early, late = 5 / 3 + 0.55 * 10 / 3, 5 / 3 + 0.95 * 10 / 3
    assert at(normal, late) - at(normal, early) < 2
    assert at(steep, late) - at(steep, early) > 8


def test_a_notch_lies_inside_the_plateau_and_a_dip_at_its_end():
    middle, end = 5 / 3 + 0.62 * 10 / 3, 5.0
    assert at(strip(CapnogramShape.NOTCHED_PLATEAU), middle) < 0.7 * at(strip(), middle)
    assert at(strip(CapnogramShape.NOTCHED_PLATEAU), end) == pytest.approx(38)
    assert at(strip(CapnogramShape.TERMINAL_DIP), middle) == pytest.approx(at(strip(), middle))
    assert at(strip(CapnogramShape.TERMINAL_DIP), end) < 0.7 * 38


def test_rebreathing_never_reaches_zero():
    assert min(capnogram(strip(CapnogramShape.RAISED_BASELINE), 15).co2_mmhg) == pytest.approx(6)


@pytest.mark.parametrize("shape", [CapnogramShape.SLANTED_FALL, CapnogramShape.CUT_OFF_PLATEAU])
def test_a_shortened_plateau_is_gone_before_inflation(shape):
    assert at(strip(shape), 4.9) < 1
    assert max(capnogram(strip(shape), 5).co2_mmhg) == pytest.approx(38, abs=0.5)


def test_a_slanted_fall_is_slower_than_a_cut():
    slanted, cut = strip(CapnogramShape.SLANTED_FALL), strip(CapnogramShape.CUT_OFF_PLATEAU)
    assert at(slanted, 5 / 3 + 0.55 * 10 / 3 + 0.4) > 10 > at(cut, 5 / 3 + 0.45 * 10 / 3 + 0.2)


@pytest.mark.parametrize(
    ("shape", "tops"),
    [
        (CapnogramShape.NORMAL, [38, 38, 38, 38, 38, 38]),
        (CapnogramShape.SUDDEN_LOSS, [38, 38, 0, 0, 0, 0]),
        (CapnogramShape.SHRINKING_HUMPS, [38, 38, 13.3, 7.6, 3.8, 1.52]),
        (CapnogramShape.FADING, [38, 38, 26.6, 18.62, 13.03, 9.12]),
        (CapnogramShape.CLIMBING, [38, 38, 39.9, 41.8, 43.7, 45.6]),
        (CapnogramShape.SINKING, [38, 38, 36.48, 34.96, 33.44, 31.92]),
    ],
)
def test_the_course_over_breaths_starts_with_the_breath_named(shape, tops):
    trace = capnogram(strip(shape), 30)
    assert trace.breath_tops_mmhg == pytest.approx(tops, abs=0.01)
    drawn = [
        max(value for moment, value in zip(trace.times_s, trace.co2_mmhg, strict=True) if start + 1.7 < moment <= end)
        for start, end in [(number * 5, number * 5 + 5) for number in range(6)]
    ]
    assert drawn == pytest.approx(tops, abs=0.6)


def test_a_tube_in_the_oesophagus_has_no_sustained_carbon_dioxide():
    """Fewer than 7 breaths above 1 kPa (7.5 mmHg): PUMA guideline 2022 / Royal College of Anaesthetists."""
    tops = capnogram(strip(CapnogramShape.SHRINKING_HUMPS, onset_breath=0), 60).breath_tops_mmhg
    assert sum(top > 7.5 for top in tops) < 7
    assert sum(top > 7.5 for top in capnogram(strip(), 60).breath_tops_mmhg) >= 7


@pytest.mark.parametrize("shape", list(CapnogramShape))
def test_every_shape_draws_and_differs_from_normal_unless_it_is_normal(shape):
    trace, normal = capnogram(strip(shape), 30), capnogram(strip(), 30)
    assert min(trace.co2_mmhg) >= 0
    assert (trace.co2_mmhg == normal.co2_mmhg) is (shape is CapnogramShape.NORMAL)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"rate_per_min": 0}, "rate"),
        ({"expiration_parts": 0}, "expiratory parts"),
        ({"end_tidal_mmhg": 151}, "end-tidal"),
        ({"baseline_mmhg": 38}, "end-tidal less baseline"),
        ({"baseline_mmhg": -1}, "baseline"),
        ({"onset_breath": -1}, "onset"),
        ({"shoulder_fraction": 1.2}, "shoulder"),
    ],
)
def test_what_cannot_be_drawn_is_refused_by_name(changes, said):
    with pytest.raises(OutOfRangeError, match=said):
        strip(**changes)


def test_a_raised_baseline_needs_a_baseline_and_a_strip_a_length():
    with pytest.raises(OutOfRangeError, match="raised baseline"):
        strip(CapnogramShape.RAISED_BASELINE, baseline_mmhg=0)
    with pytest.raises(OutOfRangeError, match="duration"):
        capnogram(strip(), 0)
