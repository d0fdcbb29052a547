"""Predicted weight: both spellings of the formula, the sexes apart, and the heights it is meant for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.ventilation.body_weight import (
    Sex,
    implied_weight_kg,
    is_extrapolated,
    predicted_weight_from_inches_kg,
    predicted_weight_kg,
    tidal_volume_ml,
)
from quizapp.ventilation.ranges import OutOfRangeError

HEIGHTS = st.floats(120, 230)


@given(HEIGHTS, st.sampled_from(Sex))
def test_centimetres_and_inches_agree_to_a_few_hundred_grams(height, sex):
    by_cm, by_inch = predicted_weight_kg(height, sex), predicted_weight_from_inches_kg(height / 2.54, sex)
    assert by_cm - by_inch == pytest.approx((0.91 - 2.3 / 2.54) * (height - 152.4))
    assert abs(by_cm - by_inch) < 0.4


@given(HEIGHTS)
def test_the_sexes_differ_by_their_constant_whatever_the_height(height):
    assert predicted_weight_kg(height, Sex.MALE) - predicted_weight_kg(height, Sex.FEMALE) == pytest.approx(4.5)


def test_where_the_formula_starts():
    assert predicted_weight_kg(152.4, Sex.FEMALE) == 45.5
    assert is_extrapolated(152.3)
    assert not is_extrapolated(152.4)


@given(st.floats(35, 100), st.floats(4, 8))
def test_volume_to_weight_and_back(weight, per_kg):
    assert implied_weight_kg(tidal_volume_ml(weight, per_kg), per_kg) == pytest.approx(weight)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: predicted_weight_kg(119, Sex.MALE), "120 to 230 cm"),
        (lambda: predicted_weight_kg(1.8, Sex.MALE), "height"),
        (lambda: predicted_weight_from_inches_kg(180, Sex.MALE), "height"),
        (lambda: tidal_volume_ml(0, 6), "predicted weight"),
        (lambda: tidal_volume_ml(60, -6), "volume per kg"),
        (lambda: implied_weight_kg(0, 6), "tidal volume"),
    ],
)
def test_out_of_range_is_said_by_name(call, said):
    with pytest.raises(OutOfRangeError, match=said):
        call()
