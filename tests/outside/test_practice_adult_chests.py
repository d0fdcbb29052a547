"""Common practice, no source: adult chests at 15 L/min and a peak of 24 cycle at 8 to 20 a minute.

With some setting of the rate control between 15 and 130 cmH2O/(L/s); breaths are 400 to 1,000 mL. The baseline is that
of the demonstration's device.
"""

import itertools

import pytest

from quizapp.content.profiles import read_profiles
from quizapp.ventilation.pressure_cycling import CyclingSettings, CyclingState, breathe
from tests.sample_families import CHECKOUT

BASELINE_CMH2O = read_profiles(CHECKOUT)[0]["tv-a-1"].profile.baseline_cmh2o(24)


@pytest.mark.parametrize(
    ("compliance", "resistance"), list(itertools.product([35, 40, 45, 50, 55, 60], [5, 8, 10, 15]))
)
def test_some_throttle_ventilates_an_adult_chest(compliance: float, resistance: float) -> None:
    found = []
    for throttle in range(15, 131, 5):
        breathing = breathe(
            CyclingSettings(
                flow_l_s=15 / 60,
                peak_cmh2o=24,
                restart_cmh2o=BASELINE_CMH2O,
                compliance_l_cmh2o=compliance / 1000,
                inspiratory_resistance_cmh2o_s_l=resistance,
                expiratory_resistance_cmh2o_s_l=resistance,
                throttle_resistance_cmh2o_s_l=throttle,
            )
        )
        assert breathing.state is CyclingState.CYCLING
        found.append((breathing.rate_per_min, breathing.tidal_volume_ml))
    assert any(8 <= rate <= 20 and 400 <= volume_ml <= 1000 for rate, volume_ml in found), found
