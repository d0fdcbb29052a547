"""Common practice, no source: 2 s in and 4 s out make 10 a minute and 1:2."""

import pytest

from quizapp.ventilation.timing import expiration_per_inflation, rate_per_min


def test_two_and_four_seconds() -> None:
    assert rate_per_min(2, 4) == pytest.approx(10)
    assert expiration_per_inflation(2, 4) == pytest.approx(2)
