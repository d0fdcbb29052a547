"""What a draw can give is worked out once: the same values and words as drawing one by one."""

from __future__ import annotations

import pytest

from quizapp.assessment.draw_tables import MOST_KEPT, draw_tables
from quizapp.assessment.families import Family
from quizapp.assessment.profile_values import known_values
from quizapp.assessment.question_generator import draw_question
from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from quizapp.content.profiles import read_profiles
from tests.sample_families import CHECKOUT, NUMERIC

PROFILES = {slug: file.profile for slug, file in read_profiles(CHECKOUT)[0].items()}


def family(old: str = "", new: str = "") -> Family:
    read, faults = read_family(parse_document("question_bank/c5/n99-volume.md", NUMERIC.replace(old, new).encode()))
    assert read is not None, faults
    return read


def table(one: Family, at: int = 0, slug: str = "tv-a-1") -> list[tuple[str, str]]:
    known = known_values(PROFILES[slug], None)
    return [(f"{drawn.value}", drawn.printed) for drawn in draw_tables(one, known)[at]]


def test_a_range_and_words() -> None:
    assert table(family())[:3] == [("10.0", "10.0"), ("10.5", "10.5"), ("11.0", "11.0")]
    assert len(table(family())) == 21
    assert table(family(), 1) == [("2", "two"), ("3", "three")]


def test_each_device_has_its_own() -> None:
    bound = family("from = 10", 'from = "profile.working_flow_min_l_min"')
    assert [table(bound, slug=slug)[0][1] for slug in ("tv-a-1", "tv-a-2", "tv-b-1")] == ["8.0", "10.0", "12.0"]


@pytest.mark.parametrize(
    ("old", "new", "at"),
    [
        ('choose = [2, 3]\nwords = ["two", "three"]', 'choose = ["flow", 3]', 1),
        ("step = 0.5", f"step = 0.{'0' * 3}1", 0),
        ("from = 10", 'from = "1 / (profile.revision - 1)"', 0),
        ("from = 10", "from = 30", 0),
    ],
    ids=["hangs on another", "very many", "at fault", "none"],
)
def test_what_is_worked_out_each_time(old: str, new: str, at: int) -> None:
    assert table(family(old, new), at) == []


def test_a_draw_takes_its_place_in_the_table() -> None:
    asked = family()
    for seed in range(30):
        flow = draw_question(asked, PROFILES["tv-a-1"], seed).drawn[0]
        assert (f"{flow.value}", flow.printed) in table(asked)
    assert MOST_KEPT > 21
