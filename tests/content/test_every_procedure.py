"""Every checklist that is shipped: counts, marks and limits as the design states them, and the rule applied to P06."""

from __future__ import annotations

import itertools
import re
from dataclasses import fields
from pathlib import Path
from tomllib import loads

import pytest

from quizapp.assessment.observation_rules import Decision, ObservationResult, ReasonKind, judge_observation
from quizapp.assessment.observation_state import ObservationState, StepMark
from quizapp.assessment.partial_order import count_valid_orders, first_valid_order, is_valid_order
from quizapp.assessment.procedures import LimitBasis, Procedure, for_profile, in_variant
from quizapp.assessment.rehearsal import score_rehearsal, shuffled_steps
from quizapp.content.procedure_header import (
    LimitHeader,
    OnlyWithHeader,
    PairHeader,
    ProcedureHeader,
    StepHeader,
    VariantHeader,
)
from quizapp.content.procedures import from_json, parse_procedure, read_procedures, to_json
from quizapp.ventilation.device_profile import DeviceProfile, from_mapping

CHECKOUT = Path(__file__).resolve().parents[2]
PROCEDURES, FAULTS = read_procedures(CHECKOUT)
BY_CODE = {procedure.code: procedure for procedure in PROCEDURES}

COUNTS = {  # valid orders and stated pairs of each list on a device without extra steps
    "P01": (120960, 13),
    "P02": (5080320, 17),
    "P03": (12960, 11),
    "P04": (2640, 9),
    "P05": (262080, 11),
    "P06": (11484, 11),
    "P07": (42336, 13),
    "P08": (1140, 11),
    "P09": (900, 8),
    "P10": (364, 10),
    "P11": (1188, 9),
    "P12": (60, 9),
    "P13": (180, 7),
    "P14": (15360, 17),
    "P15": (168, 9),
    "P16": (1080, 10),
}
CRITICAL_PAIRS = {"P01": "kl", "P02": "ah ch", "P06": "bf ij", "P08": "fg", "P12": "de", "P16": "dg"}
CRITICAL_STEPS = {
    "P01": "acdeghkl",
    "P02": "abcijkn",
    "P03": "abegjk",
    "P04": "abcfhj",
    "P05": "acdhij",
    "P06": "abcik",
    "P07": "abcefk",
    "P08": "abfghi",
    "P09": "abcdfh",
    "P10": "abehi",
    "P11": "abdh",
    "P12": "abdeg",
    "P13": "abcdg",
    "P14": "acdefj",
    "P15": "adefg",
    "P16": "abcdh",
}
IF_CALLED_FOR = {
    "P01": "",
    "P02": "m",
    "P03": "eghjk",
    "P04": "gi",
    "P05": "g",
    "P06": "kl",
    "P07": "ijk",
    "P08": "ghi",
    "P09": "",
    "P10": "bi",
    "P11": "cefh",
    "P12": "eh",
    "P13": "ef",
    "P14": "ij",
    "P15": "eg",
    "P16": "f",
}


def profile(name: str) -> DeviceProfile:
    path = CHECKOUT / "question_bank" / "device_profiles" / f"{name}.toml"
    return from_mapping(loads(path.read_text(encoding="utf-8")))


def on_revision_one(code: str) -> Procedure:
    return for_profile(BY_CODE[code], profile("tv-a-1"))


def judged(code: str, performed: str, *, prompted: str = "", not_done: str = "") -> ObservationResult:
    """A sheet of one list on revision 1 where nothing that has to be called for was."""
    marks = dict.fromkeys(performed, StepMark.DONE) | dict.fromkeys(not_done, StepMark.NOT_DONE)
    state = ObservationState(marks=tuple(sorted(marks.items())), performed=tuple(performed), prompted=tuple(prompted))
    return judge_observation(on_revision_one(code), state, presented=())


def test_there_are_sixteen_without_a_fault_or_warning() -> None:
    assert FAULTS == ()
    assert list(BY_CODE) == list(COUNTS)


@pytest.mark.parametrize("code", COUNTS)
def test_counts_of_valid_orders(code: str) -> None:
    procedure = on_revision_one(code)
    assert (count_valid_orders(procedure.order), len(procedure.pairs)) == COUNTS[code]
    assert procedure.valid_orders == COUNTS[code][0]


@pytest.mark.parametrize("code", COUNTS)
def test_marks_of_the_steps_and_pairs(code: str) -> None:
    procedure = BY_CODE[code]
    critical = {step.letter for step in procedure.steps if step.critical}
    assert critical == set(CRITICAL_STEPS[code])
    assert procedure.conditional_letters == set(IF_CALLED_FOR[code])
    assert procedure.critical_pairs == tuple((pair[0], pair[1]) for pair in CRITICAL_PAIRS.get(code, "").split())
    assert procedure.cut_fraction == 0.8
    assert all(step.weight == 1 for step in procedure.steps)


@pytest.mark.parametrize("code", COUNTS)
def test_every_list_has_a_way_back_and_defers(code: str) -> None:
    procedure = BY_CODE[code]
    said = " ".join(procedure.cautions)
    assert "ventilate by bag" in said
    assert "Local procedure, the maker's instructions for use" in said
    assert all(limit.basis is LimitBasis.TEACHING_TARGET for limit in procedure.limits)


@pytest.mark.parametrize("code", COUNTS)
def test_every_reason_reads_as_a_clause(code: str) -> None:
    for pair in BY_CODE[code].pairs:
        assert len(pair.why) >= 25, pair
        assert not pair.why.endswith((".", ",", ";")), pair
        assert not pair.why.lower().startswith("because"), pair


@pytest.mark.parametrize("code", COUNTS)
def test_a_frozen_list_comes_back_exactly(code: str) -> None:
    assert from_json(to_json(BY_CODE[code])) == BY_CODE[code]


@pytest.mark.parametrize("code", COUNTS)
def test_rehearsal_accepts_a_valid_order_and_names_every_single_reversal(code: str) -> None:
    procedure = BY_CODE[code]
    assert score_rehearsal(procedure, first_valid_order(procedure.order)).accepted
    for seed in range(20):
        shuffled = shuffled_steps(procedure, seed)
        result = score_rehearsal(procedure, shuffled)
        assert result.accepted is is_valid_order(procedure.order, shuffled)
        assert len(result.broken) == result.order.violations
        assert all(len(pair.sentence) > 40 for pair in result.broken)


def test_the_locking_collar_is_a_step_of_revision_two() -> None:
    one, two = on_revision_one("P01"), for_profile(BY_CODE["P01"], profile("tv-a-2"))
    assert set(two.letters) - set(one.letters) == {"n"}
    assert "collar" in two.step("n").text.lower()
    assert count_valid_orders(two.order) == BY_CODE["P01"].valid_orders_on_every_device == 786240
    assert for_profile(BY_CODE["P01"], profile("tv-b-1")).letters == one.letters


@pytest.mark.parametrize(
    ("code", "order"),
    [
        ("P07", "kabcdefghij"),  # no cause called before anything was looked for
        ("P13", "cdefghab"),  # back on the device, and only then off it
        ("P14", "ajbcdefghi"),  # no cause called right after the bag
    ],
)
def test_an_end_that_comes_before_its_search_is_no_valid_order(code: str, order: str) -> None:
    assert not is_valid_order(BY_CODE[code].order, order)


def test_every_order_of_p13_tried_gives_the_count_stated() -> None:
    order = BY_CODE["P13"].order
    valid = sum(is_valid_order(order, one) for one in itertools.permutations(order.steps))
    assert valid == BY_CODE["P13"].valid_orders


def test_the_responses_to_a_fault_can_be_rehearsed_against_the_clock() -> None:
    assert {code for code, one in BY_CODE.items() if one.is_fault_response} == {f"P{n:02}" for n in range(6, 16)}


VALID_P06 = "abcefghijd"


def test_p06_shown() -> None:
    assert is_valid_order(BY_CODE["P06"].order, VALID_P06)
    assert judged("P06", VALID_P06).decision is Decision.SHOWN


def test_p06_dials_first_then_bag_is_not_shown_and_the_pair_is_named() -> None:
    result = judged("P06", "afbceghijd")
    assert result.decision is Decision.NOT_YET
    assert [reason.kind for reason in result.reasons] == [ReasonKind.CRITICAL_PAIR_REVERSED]
    assert result.broken[0].critical
    assert result.broken[0].sentence.startswith("f was done before b: turning a dial gives no certain breath")
    assert result.order.misplaced == 1


def test_p06_a_prompted_critical_step_is_not_shown() -> None:
    result = judged("P06", VALID_P06, prompted="b")
    assert result.decision is Decision.NOT_YET
    assert [reason.kind for reason in result.reasons] == [ReasonKind.CRITICAL_STEP_PROMPTED]


def test_p06_reconnected_untested_is_not_shown() -> None:
    result = judged("P06", "abcefghjid")
    assert [reason.kind for reason in result.reasons] == [ReasonKind.CRITICAL_PAIR_REVERSED]
    assert judged("P06", "abcefghjd", not_done="i").decision is Decision.NOT_YET


def test_p06_ships_the_bag_first_style_and_keeps_the_other_as_a_choice() -> None:
    shipped, other = BY_CODE["P06"].variants
    assert (shipped.shipped, other.shipped) == (True, False)
    loose = in_variant(BY_CODE["P06"], other.name)
    assert is_valid_order(loose.order, "afbceghijkld")
    assert not is_valid_order(BY_CODE["P06"].order, "afbceghijkld")
    assert loose.critical_pairs == (("i", "j"),)
    assert count_valid_orders(loose.order) == other.valid_orders == 19800


GUIDE = (CHECKOUT / "checklists" / "README.md").read_text(encoding="utf-8")


def test_the_example_in_the_authors_guide_is_right_and_names_every_field() -> None:
    example = re.findall(r"```\n(\+\+\+.*?)```", GUIDE, re.DOTALL)
    assert len(example) == 1
    procedure, faults = parse_procedure("checklists/p17-changing-a-wet-filter.md", example[0].encode())
    assert faults == ()
    assert procedure is not None
    models = (ProcedureHeader, StepHeader, PairHeader, LimitHeader, VariantHeader)
    for field in {name for model in models for name in model.model_fields}:
        assert re.search(rf"^(\[\[)?{field}(\]\])? ?(=|$)", example[0], re.MULTILINE), field
        assert f"`{field}" in GUIDE or f"`[[{field}]]`" in GUIDE, field
    assert all(f"{field} =" in example[0] for field in OnlyWithHeader.model_fields)
    assert {field.name for field in fields(procedure)} >= set(ProcedureHeader.model_fields)
