"""Each condition moves rate and volume the way the teaching table says, and has its capnogram."""

import pytest
from demo_profiles import device

from quizapp.ventilation.capnogram import CapnogramShape
from quizapp.ventilation.conditions import Condition, capnogram_shape, efforts_under, lung_under
from quizapp.ventilation.dynamics import From, run
from quizapp.ventilation.pressure_cycling import CyclingState
from quizapp.ventilation.ranges import OutOfRangeError
from quizapp.ventilation.set_device import breathe_with, reference_lung, settings_for, starting_controls

PROFILES = [device("tv-a-1"), device("tv-a-2"), device("tv-b-1")]


def breathing(condition, profile):
    return breathe_with(profile, starting_controls(profile), lung_under(condition, reference_lung(profile)))


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.label)
@pytest.mark.parametrize("condition", [Condition.BRONCHOSPASM, Condition.LOW_COMPLIANCE])
def test_a_stiff_or_obstructed_lung_breathes_fast_and_small(condition, profile):
    calm, changed = breathing(Condition.NONE, profile), breathing(condition, profile)
    assert changed.state is CyclingState.CYCLING
    assert changed.rate_per_min > calm.rate_per_min
    assert changed.tidal_volume_ml < calm.tidal_volume_ml
    assert changed.inflation_s < calm.inflation_s


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.label)
def test_a_kink_chatters_and_a_disconnection_stalls_near_zero(profile):
    assert breathing(Condition.KINKED_TUBE, profile).state is CyclingState.CHATTER
    gone = breathing(Condition.DISCONNECTION, profile)
    assert gone.state is CyclingState.STALLED_IN_INFLATION
    assert gone.parked_cmh2o < 1


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.label)
def test_a_leak_makes_inflation_long_and_holds_the_volume(profile):
    calm, leaking = breathing(Condition.NONE, profile), breathing(Condition.LEAK, profile)
    assert leaking.inflation_s > calm.inflation_s
    assert leaking.tidal_volume_ml > calm.tidal_volume_ml


def test_trapped_gas_starts_the_ramp_higher():
    calm, trapped = (breathing(c, PROFILES[0]) for c in (Condition.NONE, Condition.TRAPPED_GAS))
    assert trapped.alveolar_end_expiration_cmh2o > calm.alveolar_end_expiration_cmh2o + 1


@pytest.mark.parametrize(
    "condition",
    [
        Condition.OESOPHAGEAL_TUBE,
        Condition.REBREATHING,
        Condition.RISING_CO2,
        Condition.FALLING_CO2,
        Condition.LOW_OUTPUT,
    ],
)
def test_some_conditions_leave_the_gauge_as_it_was(condition):
    assert breathing(condition, PROFILES[0]) == breathing(Condition.NONE, PROFILES[0])
    assert capnogram_shape(condition) is not CapnogramShape.NORMAL


def first_inflation(condition):
    profile = PROFILES[0]
    calm = breathing(Condition.NONE, profile)
    settings = settings_for(profile, starting_controls(profile), reference_lung(profile))
    trace = run(
        [From(time_s=0, settings=settings)],
        calm.inflation_s * 3,
        efforts=efforts_under(condition, calm, 1),
        tubing_ml_cmh2o=0.05,
        start_cmh2o=calm.alveolar_end_expiration_cmh2o,
    )
    return trace.switches[0].time_s / calm.inflation_s


def test_effort_lengthens_inflation_and_a_cough_ends_it():
    assert first_inflation(Condition.NONE) == pytest.approx(1, abs=0.01)
    assert first_inflation(Condition.EFFORT) > 1.1
    assert first_inflation(Condition.COUGH) < 0.6


def test_one_effort_a_breath_and_none_where_there_are_no_breaths():
    calm = breathing(Condition.NONE, PROFILES[0])
    starts = [effort.start_s for effort in efforts_under(Condition.COUGH, calm, 3)]
    assert starts[2] - starts[1] == pytest.approx(60 / calm.rate_per_min)
    assert efforts_under(Condition.LEAK, calm, 3) == ()
    with pytest.raises(OutOfRangeError, match="stalled"):
        efforts_under(Condition.COUGH, breathing(Condition.DISCONNECTION, PROFILES[0]), 3)


@pytest.mark.parametrize("condition", list(Condition))
def test_every_condition_has_a_shape_and_a_lung(condition):
    assert capnogram_shape(condition) in CapnogramShape
    assert lung_under(condition, reference_lung(PROFILES[0])).compliance_ml_cmh2o > 0
