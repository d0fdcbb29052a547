from collections import Counter

import pytest
from procedure_builder import procedure

from quizapp.assessment.partial_order import is_valid_order
from quizapp.assessment.rehearsal import first_critical_s, score_rehearsal, shuffled_steps
from quizapp.errors import BadInput

LIST = procedure("abcdef", "ab bc de")


def test_the_seed_alone_decides_the_shuffle() -> None:
    assert shuffled_steps(LIST, 7) == shuffled_steps(procedure("abcdef", "ab bc de"), 7)
    assert len({shuffled_steps(LIST, seed) for seed in range(50)}) > 30


def test_the_shuffle_stays_the_same_over_versions() -> None:
    assert "".join(shuffled_steps(LIST, 1)) == "edfacb"


def test_a_shuffle_holds_every_step_once_and_is_not_right_already() -> None:
    for seed in range(300):
        shuffled = shuffled_steps(LIST, seed)
        assert sorted(shuffled) == list("abcdef")
        assert not is_valid_order(LIST.order, shuffled)


def test_a_list_without_pairs_is_shuffled_fairly() -> None:
    free = procedure("abc", "")
    seen = Counter(shuffled_steps(free, seed) for seed in range(6_000))
    # 1,000 expected of each of the 6 orders, standard deviation 29: five of them either way
    assert len(seen) == 6
    assert all(850 < count < 1150 for count in seen.values())


@pytest.mark.parametrize("given", ["abcdef", "fdeabc", "dabecf"])
def test_every_valid_order_is_accepted(given: str) -> None:
    result = score_rehearsal(LIST, given)
    assert result.accepted
    assert result.broken == ()
    assert result.sentence == "This order keeps every real dependency."


def test_each_broken_dependency_is_named_with_its_reason() -> None:
    result = score_rehearsal(LIST, "cabdef")
    assert not result.accepted
    assert [pair.sentence for pair in result.broken] == [
        "c was done before b: bc is real",
        "c was done before a: it follows from a before b, because ab is real; b before c, because bc is real",
    ]
    assert result.sentence == "1 step is out of place; 2 dependencies are broken."


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("abcde", "missing: f"),
        ("abcdeff", "given twice: f"),
        ("abcdefz", "not a step of this procedure: z"),
        ("", "missing: a, b, c, d, e, f"),
    ],
)
def test_an_order_that_is_not_complete_is_refused(given: str, said: str) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        score_rehearsal(LIST, given)
    assert refused.value.field == "order"


@pytest.mark.parametrize(
    ("taken", "seconds"),
    [({"a": 900, "b": 4300}, 4), ({"b": 4300, "d": 2999}, 2), ({}, None), ({"b": -1}, None), ({"b": 3_600_001}, None)],
)
def test_the_first_critical_action_is_clocked_and_no_other(taken: dict[str, int], seconds: int | None) -> None:
    timed = procedure("abcdef", "ab bc de", critical="bd")
    assert first_critical_s(timed, taken) == seconds
