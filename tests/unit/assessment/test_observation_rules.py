from dataclasses import replace
from fractions import Fraction

import pytest
from procedure_builder import procedure, sheet

from quizapp.assessment.observation_rules import Decision, ObservationResult, ReasonKind, judge_observation
from quizapp.assessment.observation_state import GlobalRating, StepMark
from quizapp.assessment.procedures import Procedure, Step

FAULT = replace(procedure("abcdefgh", "ab bc cf", critical="bc"), critical_pairs=(("b", "f"),))


def reasons(result: ObservationResult) -> list[ReasonKind]:
    return [reason.kind for reason in result.reasons]


def test_everything_done_in_a_valid_order_is_shown() -> None:
    result = judge_observation(FAULT, sheet("hgedabcf"))
    assert result.decision is Decision.SHOWN
    assert result.reasons == ()
    assert result.steps_fraction == result.non_critical_fraction == 1


@pytest.mark.parametrize(
    ("marks", "decision", "kinds"),
    [
        ({"done": "acdefgh", "not_done": "b"}, Decision.NOT_YET, [ReasonKind.CRITICAL_STEP_MISSED]),
        ({"done": "abcdefgh", "prompted": ("b",)}, Decision.NOT_YET, [ReasonKind.CRITICAL_STEP_PROMPTED]),
        ({"done": "acdfbegh"}, Decision.NOT_YET, [ReasonKind.CRITICAL_PAIR_REVERSED]),
        ({"done": "acdefgh", "not_seen": "b"}, Decision.INCOMPLETE, [ReasonKind.CRITICAL_STEP_NOT_SEEN]),
        ({"done": "abcefgh"}, Decision.INCOMPLETE, [ReasonKind.STEP_UNMARKED]),
        ({"done": "abcefgh", "not_seen": "d"}, Decision.SHOWN, []),
        ({"done": "bacdefgh"}, Decision.SHOWN, []),  # a broken pair that is not critical is named and decides nothing
        ({"done": "abcdef", "not_done": "gh"}, Decision.NOT_YET, [ReasonKind.BELOW_CUT]),  # 4 of 6
        ({"done": "abcdefg", "not_done": "h"}, Decision.SHOWN, []),  # 5 of 6
        (
            {"done": "adefgh", "not_done": "b", "not_seen": "c"},
            Decision.NOT_YET,
            [ReasonKind.CRITICAL_STEP_MISSED, ReasonKind.CRITICAL_STEP_NOT_SEEN],
        ),
        ({"done": "abcd", "not_done": "gh"}, Decision.INCOMPLETE, [ReasonKind.STEP_UNMARKED, ReasonKind.BELOW_CUT]),
    ],
)
def test_the_rule_case_by_case(marks: dict[str, object], decision: Decision, kinds: list[ReasonKind]) -> None:
    result = judge_observation(FAULT, sheet(**marks))  # type: ignore[arg-type]
    assert result.decision is decision
    assert reasons(result) == kinds


def test_an_empty_sheet_is_incomplete() -> None:
    result = judge_observation(FAULT, sheet(""))
    assert result.decision is Decision.INCOMPLETE
    assert result.unmarked == tuple("abcdefgh")
    assert result.steps_fraction is None


@pytest.mark.parametrize(("cut", "decision"), [(0.8, Decision.SHOWN), (0.81, Decision.NOT_YET), (0.79, Decision.SHOWN)])
def test_exactly_on_the_cut_is_shown(cut: float, decision: Decision) -> None:
    five = replace(procedure("abcde", ""), cut_fraction=cut)
    result = judge_observation(five, sheet("abcd", not_done="e"))
    assert result.non_critical_fraction == Fraction(4, 5)
    assert result.decision is decision


def test_weights_are_added_exactly() -> None:
    weighted = replace(
        procedure("abc", ""),
        cut_fraction=0.8,
        steps=tuple(
            Step(letter=letter, text=letter, weight=weight) for letter, weight in (("a", 0.1), ("b", 0.3), ("c", 0.1))
        ),
    )
    result = judge_observation(weighted, sheet("ab", not_done="c"))
    assert result.non_critical_fraction == Fraction(4, 5)  # 0.1 + 0.3 of 0.5 in binary would miss the cut
    assert result.decision is Decision.SHOWN


def test_credit_for_prompts() -> None:
    listed = procedure("abcd", "", critical="a")
    prompted_both = sheet("abcd", prompted=("a", "b"))
    assert judge_observation(listed, prompted_both).steps_fraction == Fraction(5, 8)
    practice = judge_observation(listed, prompted_both, for_sign_off=False)
    assert practice.steps_fraction == Fraction(6, 8)
    assert practice.decision is Decision.NOT_YET
    assert practice.practice_fraction == Fraction(8, 10) * Fraction(6, 8) + Fraction(2, 10)


CALLED = procedure("abcd", "ab bc cd", critical="c", conditional="c")


@pytest.mark.parametrize(
    ("state", "presented", "mark", "decision"),
    [
        (sheet("abd"), (), StepMark.NOT_CALLED_FOR, Decision.SHOWN),
        (sheet("abd", not_done="c"), (), StepMark.NOT_CALLED_FOR, Decision.SHOWN),
        (sheet("abd", not_called="c"), ("c",), StepMark.NOT_SEEN, Decision.INCOMPLETE),
        (sheet("abd", not_done="c"), ("c",), StepMark.NOT_DONE, Decision.NOT_YET),
        (sheet("abd"), ("c",), None, Decision.INCOMPLETE),
        (sheet("abd", not_called="c"), None, StepMark.NOT_CALLED_FOR, Decision.SHOWN),
        (sheet("abcd"), (), StepMark.DONE, Decision.SHOWN),
    ],
)
def test_the_scenario_card_settles_what_is_called_for(
    state: object, presented: tuple[str, ...] | None, mark: StepMark | None, decision: Decision
) -> None:
    result = judge_observation(CALLED, state, presented=presented)  # type: ignore[arg-type]
    assert dict(result.marks).get("c") is mark
    assert result.decision is decision


def test_a_step_not_called_for_takes_weight_and_pairs_with_it() -> None:
    result = judge_observation(CALLED, sheet("abd"), presented=())
    assert result.steps_fraction == 1
    assert result.order.judged == (("a", "b"), ("a", "d"), ("b", "d"))


def test_a_step_always_called_for_cannot_be_waved_away() -> None:
    result = judge_observation(procedure("ab", "", critical="a"), sheet("b", not_called="a"))
    assert result.decision is Decision.INCOMPLETE
    assert result.not_seen == ("a",)


def test_marks_of_strange_letters_are_left_out() -> None:
    result = judge_observation(procedure("ab", "ab"), sheet("abz"))
    assert result.decision is Decision.SHOWN
    assert result.order.performed == ("a", "b")


def test_broken_pairs_are_named_critical_first_with_their_reasons() -> None:
    result = judge_observation(FAULT, sheet("fabcdegh"))
    assert [pair.sentence for pair in result.broken] == [
        "f was done before b: it follows from b before c, because bc is real; c before f, because cf is real",
        "f was done before c: cf is real",
        "f was done before a: it follows from a before b, because ab is real; "
        "b before c, because bc is real; c before f, because cf is real",
    ]
    assert result.broken[0].critical
    assert result.broken[1].sentence_in_full == "“Step f” was done before “Step c”: cf is real"


def test_the_reason_of_a_cut_never_reads_as_if_it_were_met() -> None:
    thousand = replace(procedure("ab", ""), cut_fraction=0.8)
    steps = (Step(letter="a", text="a", weight=79.96), Step(letter="b", text="b", weight=20.04))
    result = judge_observation(replace(thousand, steps=steps), sheet("a", not_done="b"))
    assert result.reasons[0].sentence == "79.9 % of the non-critical steps were shown; the cut is 80 %."


def test_anchors_of_the_global_rating() -> None:
    assert [rating.anchor.split(":")[0] for rating in GlobalRating] == [
        "unsafe",
        "borderline",
        "safe with reservations",
        "good",
        "could teach it",
    ]


def test_a_good_sheet_never_makes_up_for_one_critical_step() -> None:
    long_list: Procedure = procedure("abcdefghijklmnopqrstuvwxyz", "", critical="a")
    result = judge_observation(long_list, sheet("bcdefghijklmnopqrstuvwxyz", not_done="a"))
    assert result.non_critical_fraction == 1
    assert result.decision is Decision.NOT_YET
