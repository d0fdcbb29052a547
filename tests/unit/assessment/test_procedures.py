import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from tomllib import loads

import pytest
from procedure_builder import procedure, sheet

from quizapp.assessment.frozen_procedure import from_json, to_json
from quizapp.assessment.observation_result_json import observation_result_to_json, rehearsal_result_to_json
from quizapp.assessment.observation_rules import judge_observation
from quizapp.assessment.procedures import (
    LimitBasis,
    Procedure,
    ProfileCondition,
    Step,
    TimeLimit,
    Variant,
    for_profile,
    in_variant,
    without_steps,
)
from quizapp.assessment.rehearsal import score_rehearsal
from quizapp.ventilation.device_profile import DeviceProfile, from_mapping

PROFILES = Path(__file__).resolve().parents[3] / "question_bank" / "device_profiles"

LIMIT = TimeLimit(
    key="quick",
    text="c within 10 s of b",
    from_steps=("b",),
    to_steps=("c",),
    basis=LimitBasis.STANDARD,
    source="ours",
    at_most_s=10.5,
    recorded_by="clinical lead",
    recorded_on=date(2026, 11, 2),
)
COLLAR = Step(
    letter="d",
    text="Collar closed",
    only_with=ProfileCondition(field="joint_actions", value="close the locking collar"),
)
VARIANTS = (
    Variant(name="strict", text="as listed", shipped=True, drops=(), valid_orders=4),
    Variant(name="loose", text="b free", shipped=False, drops=(("a", "b"),), valid_orders=12),
)
FULL = replace(
    procedure("abc", "ab bc", critical="a", conditional="c"),
    steps=(*procedure("abc", "", critical="a", conditional="c").steps, COLLAR),
    critical_pairs=(("a", "c"),),
    limits=(LIMIT,),
    variants=VARIANTS,
    valid_orders=4,
)


def profile(name: str) -> DeviceProfile:
    return from_mapping(loads((PROFILES / name).read_text(encoding="utf-8")))


def test_the_collar_is_a_step_of_revision_two_only() -> None:
    assert for_profile(FULL, profile("tv-a-1.toml")).letters == ("a", "b", "c")
    assert for_profile(FULL, profile("tv-a-2.toml")) is FULL
    assert for_profile(FULL, profile("tv-b-1.toml")).letters == ("a", "b", "c")


def test_a_condition_may_name_a_field_with_one_value() -> None:
    condition = ProfileCondition(field="baseline_law", value="fixed")
    assert condition.holds_for(profile("tv-b-1.toml"))
    assert not condition.holds_for(profile("tv-a-1.toml"))


def test_a_step_takes_its_pairs_and_limits_with_it() -> None:
    rest = without_steps(FULL, "b")
    assert rest.letters == ("a", "c", "d")
    assert rest.pairs == ()
    assert rest.limits == ()
    assert rest.critical_pairs == (("a", "c"),)


def test_a_variant_drops_its_pairs_and_the_critical_orders_that_hung_on_them() -> None:
    loose = in_variant(FULL, "loose")
    assert [pair.letters for pair in loose.pairs] == [("b", "c")]
    assert loose.critical_pairs == ()
    assert loose.valid_orders == 12
    assert [variant.shipped for variant in loose.variants] == [False, True]
    assert in_variant(FULL, "strict") == FULL
    with pytest.raises(KeyError):
        in_variant(FULL, "third")


def test_steps_by_letter() -> None:
    assert FULL.step("d") is COLLAR
    assert FULL.conditional_letters == {"c"}
    with pytest.raises(KeyError):
        FULL.step("z")


@pytest.mark.parametrize("one", [FULL, procedure(), replace(FULL, cut_fraction=0.1 + 0.2, body="ü\n“x”")])
def test_a_frozen_procedure_comes_back_exactly(one: Procedure) -> None:
    assert from_json(json.loads(json.dumps(to_json(one)))) == one


def test_a_changed_frozen_procedure_is_refused_or_differs() -> None:
    frozen = to_json(FULL)
    with pytest.raises(TypeError):
        from_json(frozen | {"colour": "red"})
    with pytest.raises(KeyError):
        from_json({name: value for name, value in frozen.items() if name != "steps"})
    assert from_json(frozen | {"version": 2}) != FULL


def test_results_are_kept_as_plain_json_with_exact_fractions() -> None:
    result = judge_observation(FULL, sheet("cab", not_done="d", done_at_s=(("b", 1.0), ("c", 2.0))), presented=("c",))
    kept = json.loads(json.dumps(observation_result_to_json(result)))
    assert kept["decision"] == "not_yet"
    assert kept["steps_fraction"] == "3/4"
    assert kept["non_critical_fraction"] == "2/3"
    assert kept["marks"] == {"a": "done", "b": "done", "c": "done", "d": "not_done"}
    assert kept["broken"][0]["critical"]
    assert kept["intervals"][0]["key"] == "quick"
    assert kept["order"]["misplaced"] == 1
    rehearsed = json.loads(json.dumps(rehearsal_result_to_json(score_rehearsal(FULL, "abcd"))))
    assert rehearsed["accepted"] is True
    assert rehearsed["order"]["order_fraction"] == "1/1"
