"""The discussions that are shipped, their author's guide, and the faults the reader names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from quizapp.content import discussions
from quizapp.content.competencies import read_competencies
from quizapp.content.discussions import parse_discussion, read_discussions
from quizapp.content.library import Library, read_library
from quizapp.content.sources import read_sources

CHECKOUT = Path(__file__).resolve().parents[2]
LIBRARY: Library = read_library(CHECKOUT)
GUIDE = (CHECKOUT / "discussions" / "README.md").read_text(encoding="utf-8")
EXAMPLE = GUIDE.split("```\n")[1]


def test_every_competency_that_is_discussed_has_a_discussion_and_no_other_one() -> None:
    discussed = {code for code, one in LIBRARY.competencies.items() if one.is_discussed}
    assert discussed == {"C1", "C10"}
    assert {one.competency for one in LIBRARY.discussions.values()} == discussed


@pytest.mark.parametrize("code", sorted(LIBRARY.discussions))
def test_a_shipped_discussion_can_be_failed_and_passed(code: str) -> None:
    guide = LIBRARY.discussions[code]
    critical = [one for one in guide.questions if one.is_critical]
    assert len(critical) >= 2
    assert len(critical) * 2 < guide.points_needed <= guide.full_points - 2
    assert all(len(one.full) > len(one.partial) for one in guide.questions)
    assert "bag" in " ".join(one.full for one in critical).casefold()


@pytest.mark.parametrize("table", [discussions.DiscussionHeader, discussions.QuestionHeader])
def test_every_field_is_explained_in_the_guide(table: type) -> None:
    explained = set(re.findall(r"`([a-z_]+)`", GUIDE))
    assert set(table.model_fields) <= explained  # type: ignore[attr-defined]


def test_the_example_of_the_guide_is_a_discussion() -> None:
    guide, faults = parse_discussion("discussions/d03-example.md", EXAMPLE.encode())
    assert faults == []
    assert guide is not None
    assert guide.points_needed == 5


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('competency = "C1"', 'competency = "C5"', "takes no discussion as evidence"),
        ('competency = "C1"', 'competency = "C77"', "is not a competency"),
        ('sources = ["CP"]', 'sources = ["CPX"]', "is not in question_bank/sources.md"),
        ('letter = "b"', 'letter = "c"', "write a, b, c"),
        ("cut_fraction = 0.75", "cut_fraction = 1.5", "less than or equal to 1"),
        ("ventilate by bag", "think again", "the way back"),
        ("about_device = true", "", "about_device"),
        ("Two patients, one device, three clinicians.", "", "the case is missing"),
        ("Two patients,", "<b>Two</b> patients,", "HTML"),
        ("version = 1", "version = 1\nversoin = 2", "version"),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in EXAMPLE
    folder = tmp_path / "discussions"
    folder.mkdir()
    (folder / "d03-example.md").write_text(EXAMPLE.replace(old, new, 1), encoding="utf-8")
    competencies, _ = read_competencies(CHECKOUT)
    sources, _ = read_sources(CHECKOUT)
    guides, faults = read_discussions(tmp_path, competencies=competencies, known_sources=sources)
    assert guides == {}
    assert any(message in fault.message for fault in faults), faults
    assert all(fault.path == "discussions/d03-example.md" for fault in faults)


def test_two_files_with_one_code_are_a_fault(tmp_path: Path) -> None:
    (tmp_path / "discussions").mkdir()
    for name in ("d03-one.md", "d03-two.md"):
        (tmp_path / "discussions" / name).write_text(EXAMPLE, encoding="utf-8")
    guides, faults = read_discussions(tmp_path, competencies={}, known_sources=())
    assert list(guides) == ["D03"]
    assert ["is taken by another file" in fault.message for fault in faults] == [True]
