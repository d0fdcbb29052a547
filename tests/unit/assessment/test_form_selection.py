"""Which families a form asks: each once and siblings apart as long as the competency has others."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.families import Family
from quizapp.assessment.form_selection import FormPart, TooFewFamilies, choose_families
from quizapp.assessment.number_stream import NumberStream
from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from tests.sample_families import NUMERIC

PATTERN, _ = read_family(parse_document("question_bank/c5/n99-volume.md", NUMERIC.encode()))
assert PATTERN is not None


def family(number: int, group: str, *competencies: str) -> Family:
    assert PATTERN is not None
    return replace(PATTERN, code=f"N{number:02d}", group=group, competencies=competencies or ("C5",))


def chosen(families: list[Family], *parts: tuple[str, int], seed: int = 1) -> list[tuple[str, Family]]:
    asked = [FormPart(competency=competency, question_count=count) for competency, count in parts]
    return [(one.competency, one.family) for one in choose_families(families, asked, NumberStream("form", seed))]


pools = st.lists(st.sampled_from("abcd"), min_size=1, max_size=9)


@given(pools, st.integers(1, 9), st.integers(0, 1000))
def test_siblings_meet_only_when_every_group_was_asked(groups: list[str], count: int, seed: int) -> None:
    families = [family(number, group) for number, group in enumerate(groups)]
    form = [one for _, one in chosen(families, ("C5", count), seed=seed)]
    assert len(form) == count
    times = Counter(one.group for one in form)
    assert len(times) == min(count, len(set(groups)))
    asked = Counter(one.code for one in form)
    assert max(asked.values()) - min(asked[one.code] for one in families) <= 1


@given(st.integers(0, 1000))
def test_a_sibling_asked_for_one_competency_is_not_asked_for_the_next(seed: int) -> None:
    """One family serves both, and so does the group: the second part takes what is left."""
    families = [family(1, "a", "C5", "C6"), family(2, "b", "C6"), family(3, "a", "C6")]
    form = chosen(families, ("C5", 1), ("C6", 1), seed=seed)
    assert {(competency, one.code) for competency, one in form} == {("C5", "N01"), ("C6", "N02")}


def test_a_family_comes_again_only_when_none_is_left() -> None:
    form = [one.code for _, one in chosen([family(1, "a"), family(2, "b")], ("C5", 5))]
    assert sorted(Counter(form).values()) == [2, 3]


def test_the_same_stream_gives_the_same_form_and_others_differ() -> None:
    families = [family(number, str(number)) for number in range(8)]
    forms = [chosen(families, ("C5", 4), seed=seed) for seed in (1, 1, *range(20))]
    assert forms[0] == forms[1]
    assert len({tuple(one.code for _, one in form) for form in forms}) > 10


def test_a_competency_without_families_is_named() -> None:
    with pytest.raises(TooFewFamilies, match="C9"):
        chosen([family(1, "a")], ("C5", 1), ("C9", 1))
