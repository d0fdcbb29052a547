"""Common practice, no source: less flow, or a tighter rate control, stops the cycling; restoring both restarts it."""

from dataclasses import replace

import pytest

from quizapp.content.profiles import read_profiles
from quizapp.ventilation.dynamics import From, run
from quizapp.ventilation.pressure_cycling import CyclingSettings, CyclingState, cycling_state
from quizapp.ventilation.set_device import SHUT_POSITION, Controls, reference_lung, settings_for, starting_controls
from quizapp.ventilation.traces import Phase
from tests.sample_families import CHECKOUT

PROFILE = read_profiles(CHECKOUT)[0]["tv-a-1"].profile
START = starting_controls(PROFILE)
STOPS = {
    "less flow": (replace(START, set_flow_l_min=PROFILE.working_flow_min_l_min / 2), CyclingState.STALLED_IN_INFLATION),
    "tighter": (replace(START, throttle_position=SHUT_POSITION), CyclingState.STALLED_IN_EXPIRATION),
}


def settings(controls: Controls) -> CyclingSettings:
    return settings_for(PROFILE, controls, reference_lung(PROFILE))


@pytest.mark.parametrize("how", STOPS)
def test_it_stops(how: str) -> None:
    controls, state = STOPS[how]
    assert cycling_state(settings(START)) is CyclingState.CYCLING
    assert cycling_state(settings(controls)) is state


@pytest.mark.parametrize("how", STOPS)
def test_it_starts_again_once_restored(how: str) -> None:
    """Half a minute as delivered, a minute with the change, then as delivered again."""
    course = [
        From(time_s=0, settings=settings(START)),
        From(time_s=30, settings=settings(STOPS[how][0])),
        From(time_s=90, settings=settings(START)),
    ]
    begun = [switch.time_s for switch in run(course, 120).switches if switch.into is Phase.INFLATION]
    assert any(time_s < 30 for time_s in begun)
    assert not any(60 < time_s < 90 for time_s in begun)
    assert sum(time_s > 90 for time_s in begun) >= 3
