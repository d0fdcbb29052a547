"""A profile holds only what fits together, says all its faults at once, and reads from plain values."""

import dataclasses
import tomllib
from pathlib import Path

import pytest

from quizapp.ventilation.device_profile import BaselineLaw, MixLaw, SupplyDraw, from_mapping
from quizapp.ventilation.profile_checks import ProfileError

FOLDER = Path(__file__).parents[3] / "question_bank" / "device_profiles"


def raw(slug="tv-a-1"):
    return tomllib.loads((FOLDER / f"{slug}.toml").read_text(encoding="utf-8"))


def faults_of(**changes):
    with pytest.raises(ProfileError) as caught:
        from_mapping(raw() | changes)
    return {fault.field: fault.message for fault in caught.value.faults}


@pytest.mark.parametrize("slug", ["tv-a-1", "tv-a-2", "tv-b-1"])
def test_the_profiles_in_the_question_bank_are_sound_and_named_after_their_file(slug):
    assert from_mapping(raw(slug)).slug == slug


def test_revision_two_differs_only_where_the_change_notice_says():
    one, two = (dataclasses.asdict(from_mapping(raw(slug))) for slug in ("tv-a-1", "tv-a-2"))
    assert {name for name in one if one[name] != two[name]} == {
        "revision",
        "working_flow_min_l_min",
        "working_flow_start_l_min",
        "baseline_ratio",
        "relief_cmh2o",
        "joint_actions",
    }


def test_the_second_device_differs_in_every_law():
    a, b = from_mapping(raw()), from_mapping(raw("tv-b-1"))
    assert (a.baseline_law, b.baseline_law) == (BaselineLaw.RATIO, BaselineLaw.FIXED)
    assert (a.supply_draw, b.supply_draw) == (SupplyDraw.CONTINUOUS, SupplyDraw.INFLATION_ONLY)
    assert (a.mix_law, b.mix_law) == (MixLaw.AIR_ADDED, MixLaw.TOTAL_HELD)


@pytest.mark.parametrize(("slug", "expected"), [("tv-a-1", 4.0), ("tv-a-2", 3.6), ("tv-b-1", 5.0)])
def test_baseline_at_a_peak_of_twenty(slug, expected):
    assert from_mapping(raw(slug)).baseline_cmh2o(20) == pytest.approx(expected)


@pytest.mark.parametrize("peak", [11.9, 40.1, float("nan")])
def test_a_peak_outside_the_control_has_no_baseline(peak):
    with pytest.raises(ValueError, match="12 to 40"):
        from_mapping(raw()).baseline_cmh2o(peak)


def test_unknown_missing_and_wrongly_typed_fields_are_all_named_at_once():
    values = raw() | {"colour": "red", "relief_cmh2o": "48", "revision": True, "mix_law": "stirred"}
    del values["peak_max_cmh2o"]
    with pytest.raises(ProfileError) as caught:
        from_mapping(values)
    named = {fault.field for fault in caught.value.faults}
    assert named == {"colour", "relief_cmh2o", "revision", "mix_law", "peak_max_cmh2o"}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"code": " "}, "code"),
        ({"revision": 0}, "revision"),
        ({"relief_cmh2o": float("inf")}, "relief_cmh2o"),
        ({"relief_cmh2o": 40}, "peak_max_cmh2o"),
        ({"relief_cmh2o": 61}, "relief_cmh2o"),
        ({"working_flow_start_l_min": 21}, "working_flow_start_l_min"),
        ({"working_flow_min_l_min": -1}, "working_flow_min_l_min"),
        ({"throttle_middle_cmh2o_s_l": 160}, "throttle_middle_cmh2o_s_l"),
        ({"fio2_min_fraction": 0.21}, "fio2_min_fraction"),
        ({"fio2_min_fraction": 60}, "fio2_min_fraction"),
        ({"closed_end_bias_fraction": 1}, "closed_end_bias_fraction"),
        ({"baseline_ratio": 1}, "baseline_ratio"),
        ({"baseline_fixed_cmh2o": 5}, "baseline_fixed_cmh2o"),
        ({"baseline_law": "fixed"}, "baseline_fixed_cmh2o"),
        ({"gauge_minor_cmh2o": 3}, "gauge_minor_cmh2o"),
        ({"gauge_major_cmh2o": 5}, "gauge_major_cmh2o"),
        ({"assembly_joints": []}, "assembly_joints"),
        ({"assembly_joints": "one"}, "assembly_joints"),
        ({"joint_actions": ["push", "push"]}, "joint_actions"),
    ],
)
def test_a_contradiction_names_its_field(changes, field):
    assert field in faults_of(**changes)


def test_a_fixed_baseline_must_lie_below_the_lowest_peak():
    with pytest.raises(ProfileError, match="baseline_fixed_cmh2o"):
        from_mapping(raw("tv-b-1") | {"baseline_fixed_cmh2o": 10})
