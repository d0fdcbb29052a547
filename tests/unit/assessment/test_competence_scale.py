from __future__ import annotations

import pytest

from quizapp.assessment.competence_scale import expected_fraction, skill_of, standard_fraction
from quizapp.assessment.competence_settings import Track


@pytest.mark.parametrize(("track", "share"), [(Track.KNOWLEDGE, 0.75), (Track.PERFORMANCE, 0.90)])
def test_somebody_at_the_standard_gets_the_share_of_the_standard(track: Track, share: float) -> None:
    assert standard_fraction(track) == share
    assert expected_fraction(track, 0.0) == pytest.approx(share)
    assert skill_of(track, share) == pytest.approx(0.0)


@pytest.mark.parametrize("track", Track)
def test_there_and_back(track: Track) -> None:
    for skill in (-2.5, -1.0, 0.3, 2.0):
        assert skill_of(track, expected_fraction(track, skill)) == pytest.approx(skill)
    assert expected_fraction(track, 1.0) > expected_fraction(track, -1.0)
