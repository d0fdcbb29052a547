"""The author's guide names every field, function and instrument, and its example is a family that can be drawn."""

import re

import pytest

from quizapp.assessment.figure_kinds import FIGURE_KINDS
from quizapp.assessment.formula_functions import FUNCTIONS
from quizapp.assessment.question_generator import draw_question
from quizapp.content import family_header
from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from quizapp.content.profiles import read_profiles
from tests.sample_families import CHECKOUT

GUIDE = (CHECKOUT / "question_bank" / "README.md").read_text(encoding="utf-8")
CODE = set(re.findall(r"`([^`\n]+)`", GUIDE)) | set(re.findall(r"^\s*\[{0,2}([a-z_]+)", GUIDE, re.MULTILINE))
WORDS = {word for code in CODE for word in re.findall(r"[a-z_0-9]+", code)}


@pytest.mark.parametrize(
    "table",
    [each for each in vars(family_header).values() if isinstance(each, type) and issubclass(each, family_header.Table)],
)
def test_every_field_is_explained(table: type[family_header.Table]) -> None:
    fields = {field.alias or name for name, field in table.model_fields.items()}
    assert fields <= WORDS, fields - WORDS


def test_every_function_and_instrument_is_listed() -> None:
    assert set(FUNCTIONS) <= WORDS
    for name, kind in FIGURE_KINDS.items():
        row = next(line for line in GUIDE.splitlines() if line.startswith(f"| `{name}` |"))
        for word in (*kind.all_numbers, *kind.words, *(word for words in kind.words.values() for word in words)):
            assert word in row, f"{name}: {word}"


def test_the_example_can_be_drawn() -> None:
    text = GUIDE.split("```\n")[1]
    family, faults = read_family(parse_document("question_bank/c5/n14-example.md", text.encode()))
    assert faults == []
    assert family is not None
    question = draw_question(family, read_profiles(CHECKOUT)[0]["tv-a-1"].profile, 1)
    assert question.blanks[0].key == question.drawn[0].value / 5
