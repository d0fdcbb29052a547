"""Common practice, no source: the relief lies above the highest peak that can be set."""

from dataclasses import replace

import pytest

from quizapp.content.profiles import read_profiles
from quizapp.ventilation.device_profile import DeviceProfile
from quizapp.ventilation.profile_checks import range_faults
from tests.sample_families import CHECKOUT

PROFILES = [read.profile for read in read_profiles(CHECKOUT)[0].values()]


@pytest.mark.parametrize("profile", PROFILES, ids=[profile.slug for profile in PROFILES])
def test_the_relief_lies_above_the_highest_peak(profile: DeviceProfile) -> None:
    assert profile.relief_cmh2o > profile.peak_max_cmh2o
    assert range_faults(profile) == []


@pytest.mark.parametrize("above", [0.0, -1.0])
def test_a_profile_whose_relief_does_not_is_refused(above: float) -> None:
    with pytest.raises(ValueError, match="relief"):
        replace(PROFILES[0], relief_cmh2o=PROFILES[0].peak_max_cmh2o + above)
