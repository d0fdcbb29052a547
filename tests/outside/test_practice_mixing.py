"""Common practice, no source: going from all oxygen to 65 % multiplies the flow by 0.79 over 0.44."""

import pytest

from quizapp.ventilation.mixing import fio2_fraction, total_from_oxygen_l_min


@pytest.mark.parametrize("oxygen_l_min", [8.0, 12.0, 15.0])
def test_from_all_oxygen_to_sixty_five_percent(oxygen_l_min: float) -> None:
    total_l_min = total_from_oxygen_l_min(oxygen_l_min, 0.65)
    assert total_l_min == pytest.approx(oxygen_l_min * 0.79 / 0.44)
    assert fio2_fraction(oxygen_l_min, total_l_min - oxygen_l_min) == pytest.approx(0.65)
